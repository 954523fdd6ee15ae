-- One row per probe hole and the shift in which it was drilled. Decision support: the designer and the local code decide what a hole means.
create or replace view shift_probe_hole as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  h.name,
  h.drilled_at,
  timezone(p.time_zone, h.drilled_at) as drilled_local,
  r.state::text as state,
  chainage_of_driven(d.start_chainage_m, d.direction, h.collar_m) as collar_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.reach_m) as reach_chainage_m,
  h.position_deg,
  h.look_out_deg,
  h.length_m,
  h.water_inflow_l_per_min,
  h.water_depth_m,
  r.gives_cover,
  h.remark,
  h.drive_id,
  s.id as shift_id
from shift s
join probe_hole h on h.drive_id = s.drive_id and h.drilled_at >= s.starts_at and h.drilled_at < s.ends_at
join probe_hole_reading r on r.probe_hole_id = h.id and r.drive_id = h.drive_id
join calendar_shift n on n.id = s.calendar_shift_id
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id;

comment on view shift_probe_hole is 'One row per probe hole drilled during a shift. Decision support.';
comment on column shift_probe_hole.name is 'Name of the hole.';
comment on column shift_probe_hole.drilled_at is 'When it was drilled.';
comment on column shift_probe_hole.drilled_local is 'drilled_at in the project''s time zone.';
comment on column shift_probe_hole.state is 'drilled, abandoned, flooded, grouted or control_hole; drilled where none was noted.';
comment on column shift_probe_hole.collar_chainage_m is 'Chainage of its collar. [m]';
comment on column shift_probe_hole.reach_chainage_m is 'Chainage to which it reaches along the axis. [m]';
comment on column shift_probe_hole.position_deg is 'Clock position of the collar. [°]';
comment on column shift_probe_hole.look_out_deg is 'Angle to the axis. [°]';
comment on column shift_probe_hole.length_m is 'Length drilled. [m]';
comment on column shift_probe_hole.water_inflow_l_per_min is 'Water inflow from the hole; null: not noted. [l/min]';
comment on column shift_probe_hole.water_depth_m is 'Depth at which water was met. [m]';
comment on column shift_probe_hole.gives_cover is 'Whether it counts as cover ahead of the face, as probe_hole_reading says.';
