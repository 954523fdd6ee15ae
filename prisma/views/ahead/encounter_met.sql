-- One row a thing met in the ground by the moment asked for: what people entered, and water met in probe holes, at the place on the
-- axis that its depth in the hole reaches. A hole that noted an inflow of 0 met none; one without a time may not have been drilled.
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
where h.water_depth_m is not null and h.water_inflow_l_per_min is distinct from 0 and h.drilled_at <= (select moment_asked());

comment on view encounter_met is
  'What was met in the ground by the moment asked for, in driven metres [m]: entered, or water met in a probe hole. face_m: where the face stood then.';
