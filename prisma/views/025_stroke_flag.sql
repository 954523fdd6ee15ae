-- One row a stroke and flag: a figure of the record that lies beyond what the machine is rated for, or that contradicts
-- another. A hint to look at the record, not a judgement: a wrong reading and a hard stroke look the same.
--
-- Readings are those of the boring that has the highest one; the length is that of the whole stroke. rates_differ compares
-- the rate by penetration and rotation with that by length and boring time, both over the same borings, the first weighted
-- by time: Σ PR·t / Σ t is what they would have bored. Tolerance 10 %, a project rule: minutes on a clock alone make 3 %.
-- What is equal to its limit is not flagged.
create or replace view stroke_flag as
with bored as (
  select drive_id, stroke_number, min(from_m) as from_m, max(to_m) as to_m, sum(to_m - from_m) as length_m,
    max(thrust_per_disc_kn) as thrust_per_disc_kn, max(torque_knm) as torque_knm, max(power_kw) as power_kw, max(thrust_kn) as thrust_kn,
    sum(penetration_rate_m_per_h * extract(epoch from ended_at - started_at)::float8) as read_m_s_per_h,
    sum((to_m - from_m)::float8) filter (where penetration_rate_m_per_h is not null and started_at is not null) * 3600 as timed_m_s_per_h,
    sum(extract(epoch from ended_at - started_at)::float8) filter (where penetration_rate_m_per_h is not null) as timed_s
  from boring
  group by drive_id, stroke_number
)
select
  p.code as project_code,
  d.code as drive_code,
  b.stroke_number,
  d.start_chainage_m + d.direction * b.from_m as from_chainage_m,
  d.start_chainage_m + d.direction * b.to_m as to_chainage_m,
  f.flag,
  f.measured,
  f.limit_value,
  f.unit,
  b.drive_id
from bored b
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
left join machine m on m.id = d.machine_id
cross join lateral (
  values
    ('thrust_per_disc_above_rating', b.thrust_per_disc_kn, m.rated_disc_load_kn::float8, 'kN', 1),
    ('torque_above_rating', b.torque_knm, m.rated_torque_knm::float8, 'kNm', 1),
    ('power_above_installed', b.power_kw, m.installed_power_kw::float8, 'kW', 1),
    ('thrust_above_rating', b.thrust_kn, m.rated_thrust_kn::float8, 'kN', 1),
    ('stroke_longer_than_machine', b.length_m::float8, m.stroke_length_m::float8, 'm', 1),
    ('rates_differ', b.read_m_s_per_h / b.timed_s, b.timed_m_s_per_h / b.timed_s * 1.1, 'm/h', 1),
    ('rates_differ', b.read_m_s_per_h / b.timed_s, b.timed_m_s_per_h / b.timed_s * 0.9, 'm/h', -1)
) f (flag, measured, limit_value, unit, side)
where (f.measured - f.limit_value) * f.side > 0;

comment on view stroke_flag is
  'One row a stroke and flag: a figure beyond the machine''s rating, or two that contradict each other. A hint to look at the record, not a judgement.';
comment on column stroke_flag.flag is
  'thrust_per_disc_above_rating, torque_above_rating, power_above_installed, thrust_above_rating, stroke_longer_than_machine, or rates_differ: penetration and rotation against length and boring time.';
comment on column stroke_flag.measured is 'The figure of the record, in the unit; of readings the highest of the stroke''s borings.';
comment on column stroke_flag.limit_value is 'What it should not be beyond, in the unit; of rates_differ the rate by the clock with 10 % added or taken off.';
comment on column stroke_flag.unit is 'Unit of both.';
