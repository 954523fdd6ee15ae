-- One row per probe hole that reaches ahead of the face: whether it counts at the place where the cover ends, and each reason why not.
create or replace view probe_cover_hole as
select
  c.drive_id,
  h.probe_hole_id,
  h.name,
  h.collar_m::numeric(9,3) as collar_m,
  h.reach_m,
  h.state,
  h.reasons,
  h.sectors
from probe_cover c
cross join lateral probe_cover_hole_of(c.drive_id, c.face_m, c.probed_to_m, c.end_least_length_m, c.end_sector_from_deg, c.end_sector_to_deg) h;

comment on view probe_cover_hole is 'Probe holes that reach ahead of the face, with the reasons why they do not count where the cover ends.';
comment on column probe_cover_hole.collar_m is 'Driven metres of the collar. [m]';
comment on column probe_cover_hole.reach_m is 'Driven metres to which it reaches. [m]';
comment on column probe_cover_hole.reasons is
  'Why it does not count there: without_position, beyond_look_out_limit, without_time, not_yet_drilled, below_minimum_length, ends_before, begins_beyond; '
  'none: it counts.';
comment on column probe_cover_hole.sectors is 'Required sectors there in which all of it lies, by their place in the list, from 1.';
comment on column probe_cover_hole.name is 'Name of the hole.';
comment on column probe_cover_hole.state is 'drilled, abandoned, flooded, grouted or control_hole.';
