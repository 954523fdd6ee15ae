-- One row per stroke. Means over several borings are weighted by length, from exact sums of decimals; converting floats to decimals is slow, so only
-- strokes with several borings are read for them. A stroke is regular by its own mean ratio against the bounds of the machine in force when it
-- began: for a single boring that is stored with the boring, so the bounds are looked up only for strokes with several.
create or replace view stroke as
select
  p.code as project_code,
  d.code as drive_code,
  k.stroke_number,
  chainage_of_driven(d.start_chainage_m, d.direction, k.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, k.to_m) as to_chainage_m,
  k.from_m,
  k.to_m,
  k.length_m,
  k.boring_count,
  k.started_at,
  k.ended_at,
  round(k.boring_seconds / 3600, 4) as boring_hours,
  coalesce(several.thrust_kn, k.thrust_kn) as thrust_kn,
  coalesce(several.torque_knm, k.torque_knm) as torque_knm,
  coalesce(several.rotation_rpm, k.rotation_rpm) as rotation_rpm,
  coalesce(several.penetration_mm_per_rev, k.penetration_mm_per_rev) as penetration_mm_per_rev,
  coalesce(several.gripper_pressure_bar, k.gripper_pressure_bar) as gripper_pressure_bar,
  k.muck_mass_t,
  coalesce(several.penetration_rate_m_per_h, k.penetration_rate_m_per_h) as penetration_rate_m_per_h,
  coalesce(several.thrust_per_disc_kn, k.thrust_per_disc_kn) as thrust_per_disc_kn,
  coalesce(several.field_penetration_index, k.field_penetration_index) as field_penetration_index,
  coalesce(several.specific_energy_mj_per_m3, k.specific_energy_mj_per_m3) as specific_energy_mj_per_m3,
  coalesce(several.torque_ratio, k.torque_ratio) as torque_ratio,
  case when k.boring_count = 1 or k.are_regular is null then k.are_regular else (
    select several.torque_ratio > m.torque_ratio_lower::float8 and several.torque_ratio < m.torque_ratio_upper::float8
    from boring own
    left join shift sh on sh.id = own.shift_id
    join machine_data m on m.machine_id = d.machine_id and bored_on(sh.shift_date, own.started_at, p.time_zone, p.day_start) >= m.valid_from
      and bored_on(sh.shift_date, own.started_at, p.time_zone, p.day_start) < m.valid_to
    where own.drive_id = k.drive_id and own.from_m = k.from_m
  ) end as regular_advance,
  k.drive_id,
  coalesce(several.power_kw, k.power_kw) as power_kw,
  coalesce(several.torque_penetration_index, k.torque_penetration_index) as torque_penetration_index,
  k.timed_m,
  k.boring_seconds,
  k.weighed_m,
  k.regular_m,
  k.judged_m
from (
  select
    b.drive_id,
    b.stroke_number,
    min(b.from_m) as from_m,
    max(b.to_m) as to_m,
    sum(b.to_m - b.from_m) as length_m,
    count(*)::int as boring_count,
    min(b.started_at) as started_at,
    max(b.ended_at) as ended_at,
    sum(extract(epoch from b.ended_at - b.started_at)) as boring_seconds,
    min(b.thrust_kn) as thrust_kn,
    min(b.torque_knm) as torque_knm,
    min(b.rotation_rpm) as rotation_rpm,
    min(b.penetration_mm_per_rev) as penetration_mm_per_rev,
    min(b.gripper_pressure_bar) as gripper_pressure_bar,
    min(b.penetration_rate_m_per_h) as penetration_rate_m_per_h,
    min(b.thrust_per_disc_kn) as thrust_per_disc_kn,
    min(b.field_penetration_index) as field_penetration_index,
    min(b.specific_energy_mj_per_m3) as specific_energy_mj_per_m3,
    min(b.torque_ratio) as torque_ratio,
    min(b.power_kw) as power_kw,
    min(b.torque_penetration_index) as torque_penetration_index,
    sum(b.muck_mass_t) as muck_mass_t,
    bool_and(b.regular_advance) as are_regular,
    coalesce(sum(b.to_m - b.from_m) filter (where b.started_at is not null), 0.000) as timed_m,
    coalesce(sum(b.to_m - b.from_m) filter (where b.muck_mass_t is not null), 0.000) as weighed_m,
    coalesce(sum(b.to_m - b.from_m) filter (where b.regular_advance), 0.000) as regular_m,
    coalesce(sum(b.to_m - b.from_m) filter (where b.regular_advance is not null), 0.000) as judged_m
  from boring b
  group by b.drive_id, b.stroke_number
) k
join drive d on d.id = k.drive_id
join project p on p.id = d.project_id
left join lateral (
  select
    mean(min(o.thrust_kn), max(o.thrust_kn), sum(o.thrust_kn::numeric * w.metres), sum(w.metres) filter (where o.thrust_kn is not null)) as thrust_kn,
    mean(min(o.torque_knm), max(o.torque_knm), sum(o.torque_knm::numeric * w.metres), sum(w.metres) filter (where o.torque_knm is not null)) as torque_knm,
    mean(min(o.rotation_rpm), max(o.rotation_rpm), sum(o.rotation_rpm::numeric * w.metres),
      sum(w.metres) filter (where o.rotation_rpm is not null)) as rotation_rpm,
    mean(min(o.penetration_mm_per_rev), max(o.penetration_mm_per_rev), sum(o.penetration_mm_per_rev::numeric * w.metres),
      sum(w.metres) filter (where o.penetration_mm_per_rev is not null)) as penetration_mm_per_rev,
    mean(min(o.gripper_pressure_bar), max(o.gripper_pressure_bar), sum(o.gripper_pressure_bar::numeric * w.metres),
      sum(w.metres) filter (where o.gripper_pressure_bar is not null)) as gripper_pressure_bar,
    mean(min(o.penetration_rate_m_per_h), max(o.penetration_rate_m_per_h), sum(o.penetration_rate_m_per_h::numeric * w.metres),
      sum(w.metres) filter (where o.penetration_rate_m_per_h is not null)) as penetration_rate_m_per_h,
    mean(min(o.thrust_per_disc_kn), max(o.thrust_per_disc_kn), sum(o.thrust_per_disc_kn::numeric * w.metres),
      sum(w.metres) filter (where o.thrust_per_disc_kn is not null)) as thrust_per_disc_kn,
    mean(min(o.field_penetration_index), max(o.field_penetration_index), sum(o.field_penetration_index::numeric * w.metres),
      sum(w.metres) filter (where o.field_penetration_index is not null)) as field_penetration_index,
    mean(min(o.specific_energy_mj_per_m3), max(o.specific_energy_mj_per_m3), sum(o.specific_energy_mj_per_m3::numeric * w.metres),
      sum(w.metres) filter (where o.specific_energy_mj_per_m3 is not null)) as specific_energy_mj_per_m3,
    mean(min(o.torque_ratio), max(o.torque_ratio), sum(o.torque_ratio::numeric * w.metres),
      sum(w.metres) filter (where o.torque_ratio is not null)) as torque_ratio,
    mean(min(o.power_kw), max(o.power_kw), sum(o.power_kw::numeric * w.metres), sum(w.metres) filter (where o.power_kw is not null)) as power_kw,
    mean(min(o.torque_penetration_index), max(o.torque_penetration_index), sum(o.torque_penetration_index::numeric * w.metres),
      sum(w.metres) filter (where o.torque_penetration_index is not null)) as torque_penetration_index
  from boring o
  cross join lateral (select o.to_m - o.from_m as metres offset 0) w
  where k.boring_count > 1 and o.drive_id = k.drive_id and o.stroke_number = k.stroke_number
  offset 0
) several on true;

comment on view stroke is 'One row per stroke: place, time, means over its borings weighted by length, and the values computed from them.';
comment on column stroke.boring_hours is 'Boring time; null when imported without times. [h]';
comment on column stroke.thrust_kn is 'Mean total thrust. [kN]';
comment on column stroke.torque_knm is 'Mean cutterhead torque. [kNm]';
comment on column stroke.penetration_rate_m_per_h is 'Mean net penetration rate. [m/h]';
comment on column stroke.thrust_per_disc_kn is 'Mean thrust a disc, friction deducted. [kN]';
comment on column stroke.field_penetration_index is 'Mean field penetration index. [kN per mm/rev]';
comment on column stroke.specific_energy_mj_per_m3 is 'Mean specific energy. [MJ/m3]';
comment on column stroke.torque_ratio is 'Mean torque ratio, measured to theoretical torque.';
comment on column stroke.regular_advance is 'True when the mean torque ratio lies within the bounds of the machine in force when the stroke began.';
comment on column stroke.power_kw is 'Mean power of the cutterhead. [kW]';
comment on column stroke.torque_penetration_index is 'Mean torque penetration index. [kNm per mm/rev]';
comment on column stroke.timed_m is 'Metres bored with times: less than length_m when a boring was imported without. [m]';
comment on column stroke.boring_seconds is 'Boring time, not rounded; null when imported without times. [s]';
comment on column stroke.weighed_m is 'Metres whose muck was weighed: less than length_m when a boring has no mass. [m]';
comment on column stroke.regular_m is 'Metres of its borings whose own torque ratio lies within the bounds. [m]';
comment on column stroke.judged_m is 'Metres of its borings that have a torque ratio and bounds. [m]';
