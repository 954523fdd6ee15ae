-- One row a probe hole that reaches ahead of the face: whether it counts at the place where the cover ends, and each reason why not.
create or replace view probe_cover_hole as
select
  c.drive_id,
  h.probe_hole_id,
  h.name,
  h.collar_m,
  h.reach_m,
  h.state,
  array_remove(array[
    case when h.without_position then 'without_position' end,
    case when h.beyond_look_out_limit then 'beyond_look_out_limit' end,
    case when h.without_time then 'without_time' end,
    case when h.not_yet_drilled then 'not_yet_drilled' end,
    case when h.qualifying_length_m < c.end_least_length_m then 'below_minimum_length' end,
    case when h.reach_m <= c.probed_to_m then 'ends_before' end,
    case when h.collar_m > c.probed_to_m then 'begins_beyond' end
  ], null) as reasons,
  array(
    select i from generate_subscripts(c.end_sector_from_deg, 1) i
    where h.position_deg is not null and probe_in_sector(h.position_deg, h.azimuth_deg, c.end_sector_from_deg[i], c.end_sector_to_deg[i]) order by i
  ) as sectors
from probe_cover c
join probe_hole_reading h on h.drive_id = c.drive_id and h.reach_m > c.face_m;

comment on view probe_cover_hole is 'Probe holes that reach ahead of the face, with the reasons why they do not count where the cover ends.';
comment on column probe_cover_hole.collar_m is 'Driven metres of the collar. [m]';
comment on column probe_cover_hole.reach_m is 'Driven metres to which it reaches. [m]';
comment on column probe_cover_hole.reasons is 'Why it does not count there: without_position, beyond_look_out_limit, without_time, not_yet_drilled, below_minimum_length, ends_before, begins_beyond; none: it counts.';
comment on column probe_cover_hole.sectors is 'Required sectors there in which all of it lies, by their place in the list, from 1.';
comment on column probe_cover_hole.name is 'Name of the hole.';
comment on column probe_cover_hole.state is 'drilled, abandoned, flooded, grouted or control_hole.';
