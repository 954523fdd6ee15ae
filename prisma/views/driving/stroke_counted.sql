-- One row per stroke, as its statistics use it: without its ground class, which few breakdowns need and which takes as long to look up as the rest.
create or replace view stroke_counted as
select s.project_code, s.drive_code, s.drive_id, s.stroke_number, s.from_m, s.to_m, s.ground_class_code,
  row(
    s.project_code, s.drive_code, s.stroke_number, s.from_chainage_m, s.to_chainage_m, s.from_m, s.to_m, s.length_m, s.boring_count, s.started_at,
    s.ended_at, s.boring_hours, s.thrust_kn, s.torque_knm, s.rotation_rpm, s.penetration_mm_per_rev, s.gripper_pressure_bar, s.muck_mass_t,
    s.penetration_rate_m_per_h, s.timed_penetration_rate_m_per_h, s.thrust_per_disc_kn, s.power_kw, s.torque_ratio, s.regular_advance,
    s.specific_energy_mj_per_m3, s.field_penetration_index, s.torque_penetration_index, s.regrip_minutes, s.cycle_minutes, null, s.drive_id,
    s.boring_seconds, s.regular_m, s.judged_m
  )::stroke_performance as stroke
from stroke_performance s;

comment on view stroke_counted is 'One row per stroke, as its statistics take it.';
comment on column stroke_counted.ground_class_code is 'Ground class noted at the middle of the stroke; null: none noted.';
comment on column stroke_counted.stroke is 'The stroke as stroke_performance has it, without its ground class.';
