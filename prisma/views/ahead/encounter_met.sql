-- One row per encounter in the ground by the moment asked for: those that people entered, and water and voids met in probe holes, at the
-- place on the axis that corresponds to their depth: by the log of the hole or, if that has no water, by the depth noted with the hole. A
-- hole with a noted inflow of 0 met none there; one without a time may not have been drilled.
create or replace view encounter_met as
select
  e.drive_id,
  e.name,
  false as is_from_hole,
  e.kind,
  e.from_m,
  e.to_m,
  coalesce(e.face_m, e.from_m) as face_m,
  e.source,
  e.met_at
from encounter e
where e.met_at <= (select moment_asked())
union all
select
  h.drive_id,
  h.name,
  true,
  'water_bearing',
  w.at_m,
  w.at_m,
  coalesce(h.face_m, h.collar_m),
  'probe_hole',
  h.drilled_at
from probe_hole h
cross join lateral (select round(h.collar_m + h.water_depth_m * h.axial_reach_m / h.length_m, 3) as at_m) w
where h.water_depth_m is not null and h.water_inflow_l_per_min is distinct from 0 and h.drilled_at <= (select moment_asked())
  and not exists (
    select from probe_log l where l.drive_id = h.drive_id and l.probe_hole_id = h.id and h.water_depth_m between l.from_m and l.to_m
      and (l.water_inflow_l_per_min > 0 or (l.water_inflow_l_per_min is null and l.water_pressure_bar > 0)))
union all
select
  h.drive_id,
  h.name,
  true,
  m.kind,
  round(h.collar_m + m.from_depth_m * h.axial_reach_m / h.length_m, 3),
  round(h.collar_m + m.to_depth_m * h.axial_reach_m / h.length_m, 3),
  coalesce(h.face_m, h.collar_m),
  'probe_hole',
  h.drilled_at
from probe_log_met m
join probe_hole h on h.drive_id = m.drive_id and h.id = m.probe_hole_id
where h.drilled_at <= (select moment_asked());

comment on view encounter_met is
  'Encounters in the ground by the moment asked for, in driven metres [m]: entered, or water or a void met in a probe hole. face_m: position of the face '
  'then.';
