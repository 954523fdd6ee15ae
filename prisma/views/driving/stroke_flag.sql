-- One row per stroke and flag: a figure of the record beyond the rating of the machine, or in contradiction to another. A hint to check the
-- record, not a judgement: a wrong reading and a hard stroke look the same.
--
-- Each boring is compared with the machine data in force when it was bored. A flag shows the boring that is furthest beyond its limit; the length is
-- that of the whole stroke. rates_differ compares the rate from penetration and rotation with that from length and boring time, both over the same
-- borings, the first weighted by time: Σ PR·t / Σ t is what they would have bored. Tolerance 10 %, a project rule: times to the minute alone cause
-- 3 %. A figure equal to its limit is not flagged. Where the machine has no rating, and for figures that no machine rates, the limits of doubt apply.
create or replace view stroke_flag as
with bored as (
  select b.drive_id, b.stroke_number, min(b.from_m) as from_m, max(b.to_m) as to_m, sum(b.to_m - b.from_m) as length_m,
    max(array[b.thrust_per_disc_kn - m.rated_disc_load_kn::float8, b.thrust_per_disc_kn, m.rated_disc_load_kn])
      filter (where b.thrust_per_disc_kn > m.rated_disc_load_kn) as disc,
    max(array[b.torque_knm - t.most_knm::float8, b.torque_knm, t.most_knm]) filter (where b.torque_knm > t.most_knm) as torque,
    max(array[m.least_torque_knm::float8 - b.torque_knm, b.torque_knm, m.least_torque_knm]) filter (where b.torque_knm < m.least_torque_knm) as low_torque,
    max(array[b.power_kw - m.installed_power_kw::float8, b.power_kw, m.installed_power_kw]) filter (where b.power_kw > m.installed_power_kw) as power,
    max(array[b.thrust_kn - t.most_kn::float8, b.thrust_kn, t.most_kn]) filter (where b.thrust_kn > t.most_kn) as thrust,
    max(array[m.least_thrust_kn::float8 - b.thrust_kn, b.thrust_kn, m.least_thrust_kn]) filter (where b.thrust_kn < m.least_thrust_kn) as low_thrust,
    max(array[t.high_rate - m.most_rate_m_per_h::float8, t.high_rate, m.most_rate_m_per_h]) filter (where t.high_rate > m.most_rate_m_per_h) as high_rate,
    max(array[m.least_rate_m_per_h::float8 - t.low_rate, t.low_rate, m.least_rate_m_per_h]) filter (where t.low_rate < m.least_rate_m_per_h) as low_rate,
    max(m.full_stroke_m) as full_stroke_m,
    sum(b.penetration_rate_m_per_h::numeric * extract(epoch from b.ended_at - b.started_at)) as read_m_s_per_h,
    sum(b.to_m - b.from_m) filter (where b.penetration_rate_m_per_h is not null and b.started_at is not null) * 3600 as timed_m_s_per_h,
    sum(extract(epoch from b.ended_at - b.started_at)) filter (where b.penetration_rate_m_per_h is not null) as timed_s
  from boring b
  join drive d on d.id = b.drive_id
  join project p on p.id = d.project_id
  left join shift s on s.drive_id = b.drive_id and s.id = b.shift_id
  cross join lateral (select bored_on(s.shift_date, b.started_at, p.time_zone, p.day_start) as day offset 0) bored
  left join drive_limit m on m.drive_id = b.drive_id and bored.day >= m.valid_from and bored.day < m.valid_to
  cross join lateral (select (b.to_m - b.from_m)::float8 * 3600 / extract(epoch from b.ended_at - b.started_at)::float8 as timed_m_per_h) r
  cross join lateral (
    select coalesce(m.rated_thrust_kn, m.most_thrust_kn) as most_kn, coalesce(m.rated_torque_knm, m.most_torque_knm) as most_knm,
      greatest(b.penetration_rate_m_per_h, r.timed_m_per_h) as high_rate, least(b.penetration_rate_m_per_h, r.timed_m_per_h) as low_rate
  ) t
  group by b.drive_id, b.stroke_number
)
select
  p.code as project_code,
  d.code as drive_code,
  b.stroke_number,
  chainage_of_driven(d.start_chainage_m, d.direction, b.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, b.to_m) as to_chainage_m,
  f.flag,
  f.measured,
  f.limit_value,
  f.unit,
  b.drive_id
from bored b
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
cross join lateral (
  values
    ('thrust_per_disc_above_rating', b.disc[2], b.disc[3], 'kN', 1),
    ('torque_above_rating', b.torque[2], b.torque[3], 'kNm', 1),
    ('power_above_installed', b.power[2], b.power[3], 'kW', 1),
    ('thrust_above_rating', b.thrust[2], b.thrust[3], 'kN', 1),
    ('stroke_longer_than_machine', b.length_m::float8, b.full_stroke_m::float8, 'm', 1),
    ('thrust_too_low', b.low_thrust[2], b.low_thrust[3], 'kN', -1),
    ('torque_too_low', b.low_torque[2], b.low_torque[3], 'kNm', -1),
    ('rate_too_high', b.high_rate[2], b.high_rate[3], 'm/h', 1),
    ('rate_too_low', b.low_rate[2], b.low_rate[3], 'm/h', -1),
    ('rates_differ', (b.read_m_s_per_h / b.timed_s)::float8, (b.timed_m_s_per_h * 1.1 / b.timed_s)::float8, 'm/h', 1),
    ('rates_differ', (b.read_m_s_per_h / b.timed_s)::float8, (b.timed_m_s_per_h * 0.9 / b.timed_s)::float8, 'm/h', -1)
) f (flag, measured, limit_value, unit, side)
where (f.measured - f.limit_value) * f.side > 0;

comment on view stroke_flag is
  'One row per stroke and flag: a figure beyond the machine''s rating, or two that contradict each other. A hint to look at the record, not a judgement.';
comment on column stroke_flag.flag is
  'thrust_per_disc_above_rating, torque_above_rating, power_above_installed, thrust_above_rating, stroke_longer_than_machine, thrust_too_low, torque_too_low, '
  'rate_too_high, rate_too_low, or rates_differ: penetration and rotation against length and boring time. Thrust per disc is a mean over the head: gauge and '
  'centre discs may be above it.';
comment on column stroke_flag.measured is 'The figure of the record, in the unit; of readings that of the boring furthest beyond its limit.';
comment on column stroke_flag.limit_value is
  'What it should not be beyond by the data of the machine and the limits of doubt in force when it was bored, in the unit; of rates_differ the rate by the '
  'clock with 10 % added or taken off.';
comment on column stroke_flag.unit is 'Unit of both.';
