-- One row per stroke: its machine samples, by the times of its borings. Each boring finds its samples by their key. Means
-- are over the samples, each counting once, and exact.
create or replace view stroke_samples as
select
  p.code as project_code,
  d.code as drive_code,
  b.stroke_number,
  sum(m.sample_count)::int as sample_count,
  min(m.first_at) as first_at,
  max(m.last_at) as last_at,
  mean(min(m.thrust_min), max(m.thrust_max), sum(m.thrust_sum), sum(m.thrust_count)) as mean_thrust_kn,
  max(m.thrust_max) as max_thrust_kn,
  mean(min(m.torque_min), max(m.torque_max), sum(m.torque_sum), sum(m.torque_count)) as mean_torque_knm,
  max(m.torque_max) as max_torque_knm,
  mean(min(m.rate_min), max(m.rate_max), sum(m.rate_sum), sum(m.rate_count)) as mean_penetration_rate_mm_per_min,
  max(m.rate_max) as max_penetration_rate_mm_per_min,
  b.drive_id
from boring b
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
cross join lateral (
  select count(*) as sample_count, min(at) as first_at, max(at) as last_at,
    min(thrust_kn) as thrust_min, max(thrust_kn) as thrust_max, sum(thrust_kn::numeric) as thrust_sum, nullif(count(thrust_kn), 0) as thrust_count,
    min(torque_knm) as torque_min, max(torque_knm) as torque_max, sum(torque_knm::numeric) as torque_sum, nullif(count(torque_knm), 0) as torque_count,
    min(penetration_rate_mm_per_min) as rate_min, max(penetration_rate_mm_per_min) as rate_max,
    sum(penetration_rate_mm_per_min::numeric) as rate_sum, nullif(count(penetration_rate_mm_per_min), 0) as rate_count
  from machine_sample where drive_id = b.drive_id and at >= b.started_at and at < b.ended_at
  offset 0
) m
group by p.code, d.code, b.drive_id, b.stroke_number;

comment on view stroke_samples is
  'One row per stroke: what the machine samples say of it while it was bored; count 0 when there are none, or its times are not known.';
comment on column stroke_samples.sample_count is 'Samples within the times of its borings.';
comment on column stroke_samples.first_at is 'Moment of the first of them.';
comment on column stroke_samples.last_at is 'Moment of the last of them.';
comment on column stroke_samples.mean_thrust_kn is 'Mean total thrust over the samples. [kN]';
comment on column stroke_samples.max_thrust_kn is 'Largest total thrust. [kN]';
comment on column stroke_samples.mean_torque_knm is 'Mean cutterhead torque over the samples. [kNm]';
comment on column stroke_samples.max_torque_knm is 'Largest cutterhead torque. [kNm]';
comment on column stroke_samples.mean_penetration_rate_mm_per_min is 'Mean penetration rate over the samples. [mm/min]';
comment on column stroke_samples.max_penetration_rate_mm_per_min is 'Largest penetration rate. [mm/min]';
