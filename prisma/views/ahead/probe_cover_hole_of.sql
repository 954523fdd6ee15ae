-- One row per probe hole that reaches ahead of the face at the given place: whether it counts where the cover ends, and each reason why not.
-- The requirement there is passed in too, so that the cover of a drive is computed only once.
create or replace function probe_cover_hole_of(
  drive_id int, face_m numeric, probed_to_m numeric, least_length_m numeric, sector_from_deg numeric[], sector_to_deg numeric[])
returns table (probe_hole_id int, name text, collar_m numeric, reach_m numeric, state text, reasons text[], sectors int[])
language sql stable begin atomic
  select h.probe_hole_id, h.name, h.collar_m, h.reach_m, h.state,
    array_remove(array[
      case when h.without_position then 'without_position' end,
      case when h.beyond_look_out_limit then 'beyond_look_out_limit' end,
      case when h.without_time then 'without_time' end,
      case when h.not_yet_drilled then 'not_yet_drilled' end,
      case when h.qualifying_length_m < probe_cover_hole_of.least_length_m then 'below_minimum_length' end,
      case when h.reach_m <= probe_cover_hole_of.probed_to_m then 'ends_before' end,
      case when h.collar_m > probe_cover_hole_of.probed_to_m then 'begins_beyond' end
    ], null),
    array(
      select i from generate_subscripts(probe_cover_hole_of.sector_from_deg, 1) i
      where h.position_deg is not null
        and probe_in_sector(h.position_deg, h.azimuth_deg, probe_cover_hole_of.sector_from_deg[i], probe_cover_hole_of.sector_to_deg[i]) order by i
    )
  from probe_hole_cover h
  where h.drive_id = probe_cover_hole_of.drive_id and h.reach_m > probe_cover_hole_of.face_m;
end;

comment on function probe_cover_hole_of(int, numeric, numeric, numeric, numeric[], numeric[]) is
  'Probe holes of a drive that reach ahead of a face, with the reasons why they do not count at the place where the cover ends. Driven metres [m], clock '
  'positions [°].';
