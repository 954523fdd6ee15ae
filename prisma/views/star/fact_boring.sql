-- Fact: one row per boring and production day in which it counts, as divided by boring_day; a boring imported without times has one row without a day.
-- Lengths and seconds add up; means do not. Parts are computed once per drive, and everything else is looked up by key (offset 0), whatever the statistics.
create or replace view fact_boring as
select
  b.id as boring_id,
  day.production_day,
  d.id as drive_id,
  b.shift_id,
  d.project_id,
  p.code as project_code,
  d.code as drive_code,
  b.stroke_number,
  chainage_of_driven(d.start_chainage_m, d.direction, day.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, day.to_m) as to_chainage_m,
  day.from_m,
  day.to_m,
  day.advance_m,
  day.boring_seconds,
  b.started_at,
  b.ended_at,
  b.to_m - b.from_m as boring_length_m,
  b.thrust_kn,
  b.torque_knm,
  b.rotation_rpm,
  b.penetration_mm_per_rev,
  b.gripper_pressure_bar,
  b.power_kw,
  b.muck_mass_t,
  b.penetration_rate_m_per_h,
  b.thrust_per_disc_kn,
  b.field_penetration_index,
  b.torque_penetration_index,
  b.specific_energy_mj_per_m3,
  b.torque_ratio,
  b.regular_advance,
  c.change_number,
  c.changed_at
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select t.boring_id, t.production_day, t.from_m, t.to_m, t.advance_m, t.boring_seconds from boring_day t where t.drive_id = d.id
  union all
  select u.id, null, u.from_m, u.to_m, u.to_m - u.from_m, null from boring u where u.drive_id = d.id and u.started_at is null
  offset 0
) day
cross join lateral (select * from boring where id = day.boring_id offset 0) b
left join lateral (select * from shift_changed where shift_id = b.shift_id offset 0) c on true;

comment on view fact_boring is
  'Fact: one row per boring and production day that it counts in; without times, one row without a day. Lengths and seconds add up to what day_advance says; '
  'the means and the mass of muck are of the whole boring: weight them by advance_m over boring_length_m.';
comment on column fact_boring.production_day is 'Production day in which this part counts; null: the boring has no times.';
comment on column fact_boring.shift_id is 'Shift that posted it; null: imported without a shift.';
comment on column fact_boring.boring_seconds is 'Boring time of this part; null: the boring has no times. [s]';
comment on column fact_boring.boring_length_m is 'Length of the whole boring. [m]';
comment on column fact_boring.muck_mass_t is 'Mass of the muck of the whole boring; null: not weighed. [t]';
comment on column fact_boring.change_number is 'Last change of its shift; null: imported without a shift.';
