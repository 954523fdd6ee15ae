-- One row per shift and stroke bored in it: the part bored within the shift, by time, as divided by boring_shift, and the means of its borings,
-- weighted by their lengths within the shift.
create or replace view shift_stroke as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  k.stroke_number,
  chainage_of_driven(d.start_chainage_m, d.direction, min(k.from_m)) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, max(k.to_m)) as to_chainage_m,
  sum(k.advance_m) as length_m,
  min(greatest(b.started_at, s.starts_at)) as started_at,
  max(least(b.ended_at, s.ends_at)) as ended_at,
  sum(k.boring_seconds) as boring_seconds,
  mean(min(b.thrust_kn), max(b.thrust_kn), sum(b.thrust_kn::numeric * k.advance_m),
    nullif(sum(k.advance_m) filter (where b.thrust_kn is not null), 0)) as thrust_kn,
  mean(min(b.torque_knm), max(b.torque_knm), sum(b.torque_knm::numeric * k.advance_m),
    nullif(sum(k.advance_m) filter (where b.torque_knm is not null), 0)) as torque_knm,
  mean(min(b.rotation_rpm), max(b.rotation_rpm), sum(b.rotation_rpm::numeric * k.advance_m),
    nullif(sum(k.advance_m) filter (where b.rotation_rpm is not null), 0)) as rotation_rpm,
  mean(min(b.penetration_mm_per_rev), max(b.penetration_mm_per_rev), sum(b.penetration_mm_per_rev::numeric * k.advance_m),
    nullif(sum(k.advance_m) filter (where b.penetration_mm_per_rev is not null), 0)) as penetration_mm_per_rev,
  mean(min(b.gripper_pressure_bar), max(b.gripper_pressure_bar), sum(b.gripper_pressure_bar::numeric * k.advance_m),
    nullif(sum(k.advance_m) filter (where b.gripper_pressure_bar is not null), 0)) as gripper_pressure_bar,
  sum(b.muck_mass_t) filter (where b.ended_at <= s.ends_at) as muck_mass_t,
  min(k.from_m) as from_m,
  max(k.to_m) as to_m,
  k.drive_id,
  k.shift_id
from boring_shift k
join boring b on b.id = k.boring_id
join shift s on s.id = k.shift_id
join calendar_shift n on n.id = s.calendar_shift_id
join drive d on d.id = k.drive_id
join project p on p.id = d.project_id
group by p.code, d.code, d.start_chainage_m, d.direction, s.shift_date, n.name, k.drive_id, k.shift_id, k.stroke_number;

comment on view shift_stroke is 'One row per shift and stroke: the part bored within the shift, by boring time, with means of its borings weighted by length.';
comment on column shift_stroke.length_m is 'Metres bored in the shift. [m]';
comment on column shift_stroke.started_at is 'When the shift began to bore it.';
comment on column shift_stroke.ended_at is 'When the shift stopped boring it.';
comment on column shift_stroke.thrust_kn is 'Mean total thrust. [kN]';
comment on column shift_stroke.torque_knm is 'Mean cutterhead torque. [kNm]';
comment on column shift_stroke.muck_mass_t is 'Muck weighed, of the borings that end in the shift; null: none weighed. [t]';
