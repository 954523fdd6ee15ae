-- One row per boring and doubt about its readings and times: a figure that the machine cannot reach, or hardly. The length of a stroke is
-- checked in record_doubt.
create or replace view boring_doubt as
select b.drive_id, b.id as boring_id, b.shift_id, b.stroke_number, b.from_m, b.to_m, f.doubt, f.measured, f.limit_value, f.unit
from drive d
cross join lateral ( -- converted to the types of the readings, once per span of dates instead of per boring
  select l.valid_from, l.valid_to, l.most_thrust_kn::float8, l.least_thrust_kn::float8, l.most_torque_knm::float8, l.least_torque_knm::float8,
    l.most_rate_m_per_h::float8,
    l.least_rate_m_per_h::float8
  from drive_limit l where l.drive_id = d.id
  offset 0
) l
join (
  select o.drive_id, o.id, o.shift_id, o.stroke_number, o.from_m, o.to_m, o.started_at, o.thrust_kn, o.torque_knm, o.penetration_rate_m_per_h,
    (o.to_m - o.from_m)::float8 * 3600 / extract(epoch from o.ended_at - o.started_at)::float8 as timed_m_per_h
  from boring o
) b on b.drive_id = d.id -- most are within all limits and need no further check
  and (b.thrust_kn > l.most_thrust_kn or b.thrust_kn < l.least_thrust_kn or b.torque_knm > l.most_torque_knm or b.torque_knm < l.least_torque_knm
    or greatest(b.penetration_rate_m_per_h, b.timed_m_per_h) > l.most_rate_m_per_h or least(b.penetration_rate_m_per_h, b.timed_m_per_h) < l.least_rate_m_per_h)
join project p on p.id = d.project_id
left join shift s on s.drive_id = b.drive_id and s.id = b.shift_id
cross join lateral (select bored_on(s.shift_date, b.started_at, p.time_zone, p.day_start) as day offset 0) bored
cross join lateral (
  values
    ('thrust_above_rating', b.thrust_kn, l.most_thrust_kn, 'kN', 1),
    ('thrust_too_low', b.thrust_kn, l.least_thrust_kn, 'kN', -1),
    ('torque_above_rating', b.torque_knm, l.most_torque_knm, 'kNm', 1),
    ('torque_too_low', b.torque_knm, l.least_torque_knm, 'kNm', -1),
    ('rate_too_high', greatest(b.penetration_rate_m_per_h, b.timed_m_per_h), l.most_rate_m_per_h, 'm/h', 1),
    ('rate_too_low', least(b.penetration_rate_m_per_h, b.timed_m_per_h), l.least_rate_m_per_h, 'm/h', -1)
) f (doubt, measured, limit_value, unit, side)
where bored.day >= l.valid_from and bored.day < l.valid_to and (f.measured - f.limit_value) * f.side > 0;

comment on view boring_doubt is 'Doubts about the readings and times of a boring: figures that the machine cannot make, or hardly.';
comment on column boring_doubt.doubt is
  'thrust_above_rating, thrust_too_low, torque_above_rating, torque_too_low, rate_too_high, rate_too_low. The rates are those by penetration and rotation and '
  'by the clock, the one that is further beyond.';
comment on column boring_doubt.measured is 'The figure of the record, in the unit.';
comment on column boring_doubt.limit_value is 'Limit that was exceeded or not reached, by the limits in force when it was bored, in the unit.';
comment on column boring_doubt.unit is 'Unit of both.';
