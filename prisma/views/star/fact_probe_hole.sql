-- Fact: one row per probe hole.
create or replace view fact_probe_hole as
select
  h.id as probe_hole_id,
  production_day(h.drilled_at, p.time_zone, p.day_start) as production_day,
  h.drive_id,
  d.project_id,
  p.code as project_code,
  d.code as drive_code,
  h.name,
  coalesce(h.state::text, 'drilled') as state,
  h.method::text as method,
  chainage_of_driven(d.start_chainage_m, d.direction, h.collar_m) as collar_chainage_m,
  h.collar_m,
  h.face_m,
  h.position_deg,
  h.look_out_deg,
  h.length_m,
  h.axial_reach_m,
  h.diameter_mm,
  h.water_inflow_l_per_min,
  h.water_depth_m,
  h.drilled_at,
  c.change_number,
  c.changed_at
from probe_hole h
join drive d on d.id = h.drive_id
join project p on p.id = d.project_id
left join lateral (select * from record_changed where table_name = 'probe_hole' and record_id = h.id offset 0) c on true;

comment on view fact_probe_hole is
  'Fact: one row per probe hole. What is probed ahead of the face, by the requirements of the drive, is in probe_cover; whether that suffices is for the '
  'responsible person.';
comment on column fact_probe_hole.production_day is 'Production day on which it was drilled; null: not noted.';
comment on column fact_probe_hole.name is 'Name of the hole.';
comment on column fact_probe_hole.state is 'State of the hole: drilled unless noted otherwise.';
comment on column fact_probe_hole.method is 'How it was drilled; null: not noted.';
comment on column fact_probe_hole.face_m is 'Driven metres of the face when it was drilled; null: not noted. [m]';
comment on column fact_probe_hole.length_m is 'Length of the hole. [m]';
