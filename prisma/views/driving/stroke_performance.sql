-- One row per stroke, on top of stroke: its power and indices, both rates, and the time to the next stroke.
--
-- The next stroke is the one that begins where this one ends; if metres are missing in between, or one of the two has no
-- times, there is no regripping and no cycle. Regripping counts if both strokes lie in one shift or in two that adjoin in
-- time: it is the part of the gap between them that is booked under codes that count as regripping. Other work and unbooked
-- time are left out, so a stop between two strokes does not lengthen it.
-- The last boring of a stroke (own) and the one after it (ahead) are found by their positions, which are unique in a
-- drive: so a page is read by the index, and a whole drive in one pass.
create or replace view stroke_performance as
select
  s.project_code,
  s.drive_code,
  s.stroke_number,
  s.from_chainage_m,
  s.to_chainage_m,
  s.from_m,
  s.to_m,
  s.length_m,
  s.boring_count,
  s.started_at,
  s.ended_at,
  s.boring_hours,
  s.thrust_kn,
  s.torque_knm,
  s.rotation_rpm,
  s.penetration_mm_per_rev,
  s.gripper_pressure_bar,
  s.muck_mass_t,
  s.penetration_rate_m_per_h,
  s.timed_m::float8 / (s.boring_seconds::float8 / 3600) as timed_penetration_rate_m_per_h,
  s.thrust_per_disc_kn,
  s.power_kw,
  s.torque_ratio,
  s.regular_advance,
  s.specific_energy_mj_per_m3,
  s.field_penetration_index,
  s.torque_penetration_index,
  regrip.minutes as regrip_minutes,
  round(extract(epoch from ahead.started_at - s.started_at) / 60, 2) as cycle_minutes,
  (select g.ground_class_code from ground_at(s.drive_id, (s.from_m + s.to_m) * 0.5) g) as ground_class_code,
  s.drive_id,
  s.boring_seconds,
  s.regular_m,
  s.judged_m
from stroke s
left join boring ahead on ahead.drive_id = s.drive_id and ahead.from_m = s.to_m and s.timed_m = s.length_m
left join boring own on own.drive_id = s.drive_id and own.to_m = s.to_m
left join shift behind on behind.drive_id = s.drive_id and behind.id = own.shift_id
left join shift next on next.drive_id = s.drive_id and next.id = ahead.shift_id
left join lateral (
  select round(sum(seconds_within(a.started_at, a.ended_at, s.ended_at, ahead.started_at)) / 60, 2) as minutes
  from activity a
  where a.activity_code_id = any (array(select id from activity_code where counts_as = 'regripping')) and a.shift_id = any (array[own.shift_id, ahead.shift_id])
    and a.started_at < ahead.started_at and a.ended_at > s.ended_at
    and (ahead.shift_id = own.shift_id or next.starts_at = behind.ends_at)
) regrip on true;

comment on view stroke_performance is
  'One row per stroke: means over its borings weighted by length, rates, power, indices, and the time to the stroke that begins where it ends.';
comment on column stroke_performance.boring_hours is 'Net boring time; null when imported without times. [h]';
comment on column stroke_performance.penetration_rate_m_per_h is 'Net penetration rate from penetration and rotation. [m/h]';
comment on column stroke_performance.timed_penetration_rate_m_per_h is
  'Net penetration rate from the clock: metres bored with times over their boring time. [m/h]';
comment on column stroke_performance.power_kw is 'Mean power of the cutterhead. [kW]';
comment on column stroke_performance.torque_penetration_index is 'Mean torque penetration index. [kNm per mm/rev]';
comment on column stroke_performance.regrip_minutes is
  'Time booked as regripping between this stroke and the next; null when none is booked or the next does not follow. [min]';
comment on column stroke_performance.cycle_minutes is
  'From the start of this stroke to the start of the next; null when that one does not follow or has no times. [min]';
comment on column stroke_performance.ground_class_code is 'Ground class noted at the middle of the stroke; null: none noted.';
comment on column stroke_performance.boring_seconds is 'Boring time, not rounded. [s]';
comment on column stroke_performance.regular_m is 'Metres of its borings whose own torque ratio lies within the bounds. [m]';
comment on column stroke_performance.judged_m is 'Metres of its borings that have a torque ratio and bounds. [m]';
