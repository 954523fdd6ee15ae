-- One row a stroke. Means over several borings are weighted by length, which is made a float8 once a boring (offset 0) and not
-- once a mean. A stroke is regular by its own ratio, the mean, against the bounds of the machine in force when it began: of one boring that is what is
-- stored with it, so only strokes of several look for the bounds.
create or replace view stroke as
select
  p.code as project_code,
  d.code as drive_code,
  b.stroke_number,
  d.start_chainage_m + d.direction * min(b.from_m) as from_chainage_m,
  d.start_chainage_m + d.direction * max(b.to_m) as to_chainage_m,
  min(b.from_m) as from_m,
  max(b.to_m) as to_m,
  sum(b.to_m - b.from_m) as length_m,
  count(*)::int as boring_count,
  min(b.started_at) as started_at,
  max(b.ended_at) as ended_at,
  round(sum(extract(epoch from b.ended_at - b.started_at)) / 3600, 4) as boring_hours,
  mean(min(b.thrust_kn), max(b.thrust_kn), sum(b.thrust_kn * w.metres), sum(w.metres) filter (where b.thrust_kn is not null)) as thrust_kn,
  mean(min(b.torque_knm), max(b.torque_knm), sum(b.torque_knm * w.metres), sum(w.metres) filter (where b.torque_knm is not null)) as torque_knm,
  mean(min(b.rotation_rpm), max(b.rotation_rpm), sum(b.rotation_rpm * w.metres), sum(w.metres) filter (where b.rotation_rpm is not null)) as rotation_rpm,
  mean(min(b.penetration_mm_per_rev), max(b.penetration_mm_per_rev), sum(b.penetration_mm_per_rev * w.metres), sum(w.metres) filter (where b.penetration_mm_per_rev is not null)) as penetration_mm_per_rev,
  mean(min(b.gripper_pressure_bar), max(b.gripper_pressure_bar), sum(b.gripper_pressure_bar * w.metres), sum(w.metres) filter (where b.gripper_pressure_bar is not null)) as gripper_pressure_bar,
  sum(b.muck_mass_t) as muck_mass_t,
  mean(min(b.penetration_rate_m_per_h), max(b.penetration_rate_m_per_h), sum(b.penetration_rate_m_per_h * w.metres), sum(w.metres) filter (where b.penetration_rate_m_per_h is not null)) as penetration_rate_m_per_h,
  mean(min(b.thrust_per_disc_kn), max(b.thrust_per_disc_kn), sum(b.thrust_per_disc_kn * w.metres), sum(w.metres) filter (where b.thrust_per_disc_kn is not null)) as thrust_per_disc_kn,
  mean(min(b.field_penetration_index), max(b.field_penetration_index), sum(b.field_penetration_index * w.metres), sum(w.metres) filter (where b.field_penetration_index is not null)) as field_penetration_index,
  mean(min(b.specific_energy_mj_per_m3), max(b.specific_energy_mj_per_m3), sum(b.specific_energy_mj_per_m3 * w.metres), sum(w.metres) filter (where b.specific_energy_mj_per_m3 is not null)) as specific_energy_mj_per_m3,
  mean(min(b.torque_ratio), max(b.torque_ratio), sum(b.torque_ratio * w.metres), sum(w.metres) filter (where b.torque_ratio is not null)) as torque_ratio,
  case when count(*) = 1 or count(b.regular_advance) = 0 then bool_and(b.regular_advance) else (
    select mean(min(b.torque_ratio), max(b.torque_ratio), sum(b.torque_ratio * w.metres), sum(w.metres) filter (where b.torque_ratio is not null)) > m.torque_ratio_lower::float8
      and mean(min(b.torque_ratio), max(b.torque_ratio), sum(b.torque_ratio * w.metres), sum(w.metres) filter (where b.torque_ratio is not null)) < m.torque_ratio_upper::float8
    from boring own
    left join shift sh on sh.id = own.shift_id
    join machine_data m on m.machine_id = d.machine_id and bored_on(sh.shift_date, own.started_at, p.time_zone, p.day_start) >= m.valid_from
      and bored_on(sh.shift_date, own.started_at, p.time_zone, p.day_start) < m.valid_to
    where own.drive_id = b.drive_id and own.from_m = min(b.from_m)
  ) end as regular_advance,
  b.drive_id,
  mean(min(b.power_kw), max(b.power_kw), sum(b.power_kw * w.metres), sum(w.metres) filter (where b.power_kw is not null)) as power_kw,
  mean(min(b.torque_penetration_index), max(b.torque_penetration_index), sum(b.torque_penetration_index * w.metres), sum(w.metres) filter (where b.torque_penetration_index is not null)) as torque_penetration_index,
  coalesce(sum(b.to_m - b.from_m) filter (where b.started_at is not null), 0.000) as timed_m,
  sum(extract(epoch from b.ended_at - b.started_at)) as boring_seconds,
  coalesce(sum(b.to_m - b.from_m) filter (where b.muck_mass_t is not null), 0.000) as weighed_m,
  coalesce(sum(b.to_m - b.from_m) filter (where b.regular_advance), 0.000) as regular_m,
  coalesce(sum(b.to_m - b.from_m) filter (where b.regular_advance is not null), 0.000) as judged_m
from boring b
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
cross join lateral (select (b.to_m - b.from_m)::float8 as metres offset 0) w
group by p.code, d.code, d.start_chainage_m, d.direction, b.drive_id, b.stroke_number, d.machine_id, p.time_zone, p.day_start;

comment on view stroke is 'One row a stroke: place, time, means over its borings weighted by length, and the values computed from them.';
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
