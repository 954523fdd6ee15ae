-- One row per drive: how far ahead of the face the ground is probed, and how far the face may advance. Holes that give cover count over their
-- axial reach; the cover ends where they leave a gap. 0 if no hole reaches over the face. With probe requirements, a place is covered when it
-- has the holes and sectors required; without them, one hole is enough, and how far the face may advance is unknown.
create or replace view probe_cover as
with probed as (
  select drive_id, range_agg(numrange(collar_m, reach_m)) filter (where gives_cover) as reach, count(*)::int as hole_count,
    (count(*) filter (where gives_cover))::int as counted_hole_count, (count(*) filter (where without_position))::int as without_position_count,
    (count(*) filter (where beyond_look_out_limit))::int as beyond_look_out_limit_count,
    (count(*) filter (where without_time))::int as without_time_count, (count(*) filter (where not_yet_drilled))::int as not_yet_drilled_count
  from probe_hole_cover group by drive_id
)
select
  f.project_code,
  f.drive_code,
  f.face_m,
  f.face_chainage_m,
  probed_to.m as probed_to_m,
  chainage_of_driven(f.start_chainage_m, f.direction, probed_to.m) as probed_to_chainage_m,
  probed_to.m - f.face_m as cover_m,
  coalesce(probed.hole_count, 0) as hole_count,
  f.drive_id,
  coalesce(probed.counted_hole_count, 0) as counted_hole_count,
  coalesce(probed.without_position_count, 0) as without_position_count,
  coalesce(probed.beyond_look_out_limit_count, 0) as beyond_look_out_limit_count,
  d.probe_look_out_limit_deg as look_out_limit_deg,
  coalesce(probed.without_time_count, 0) as without_time_count,
  coalesce(probed.not_yet_drilled_count, 0) as not_yet_drilled_count,
  advance.asked as has_requirement,
  in_force.revision as requirement_revision,
  in_force.valid_from as requirement_valid_from,
  permitted.m as permitted_to_m,
  chainage_of_driven(f.start_chainage_m, f.direction, permitted.m) as permitted_to_chainage_m,
  permitted.m - f.face_m as permitted_m,
  machine.stroke_length_m,
  floor((permitted.m - f.face_m) / machine.stroke_length_m)::int as permitted_strokes,
  floor((permitted.m - f.face_m) / machine.stroke_length_m) * machine.stroke_length_m as permitted_strokes_m,
  advance.overlap_m,
  advance.overlap_requirement,
  advance.covered_to_m is not null as has_end,
  advance.end_requirement,
  advance.end_required_holes,
  advance.end_counted_holes,
  advance.end_sector_from_deg,
  advance.end_sector_to_deg,
  advance.end_empty_sectors,
  advance.end_least_length_m,
  f.next_hold_point,
  f.next_hold_point_chainage_m,
  f.to_next_hold_point_m,
  f.passed_hold_point_count
from drive_progress f
join drive d on d.id = f.drive_id
left join probed on probed.drive_id = f.drive_id
left join lateral (
  select upper(r) as probed_to_m from unnest(probed.reach) r where r @> f.face_m
) ahead on true
left join lateral (select true as asked, a.* from probe_advance_of(f.drive_id) a) advance on true
left join lateral (
  select q.revision, q.valid_from from probe_requirement_in_force q where q.drive_id = f.drive_id limit 1
) in_force on true
left join lateral machine_at_face(f.drive_id) machine on true
cross join lateral (
  select case when advance.asked then coalesce(advance.covered_to_m, greatest(f.length_m, f.face_m)) else coalesce(ahead.probed_to_m, f.face_m) end as m
) probed_to
cross join lateral (
  select case when advance.asked then greatest(coalesce(advance.permitted_to_m, f.length_m), f.face_m) end as m
) permitted;

comment on view probe_cover is
  'Probed ground ahead of the face. Decision support: it counts the holes'' axial reach and says nothing of what they found; the project''s designer and '
  'local code decide.';
comment on column probe_cover.cover_m is
  'From the face to the end of the unbroken probed length that holds it, as required where a requirement is in force; 0 when none. [m]';
comment on column probe_cover.hole_count is 'All probe holes of the drive.';
comment on column probe_cover.counted_hole_count is 'Those that give cover.';
comment on column probe_cover.without_position_count is 'Holes that give no cover, their position on the ring not being noted.';
comment on column probe_cover.beyond_look_out_limit_count is
  'Holes that give no cover, their look-out angle being above the limit; a hole may fail in several ways and is counted for each.';
comment on column probe_cover.look_out_limit_deg is 'Look-out angle above which a hole gives no cover. [°]';
comment on column probe_cover.without_time_count is 'Holes that give no cover, the time of drilling not being noted.';
comment on column probe_cover.not_yet_drilled_count is 'Holes that give no cover, their time of drilling lying after the moment asked for.';
comment on column probe_cover.has_requirement is 'Whether a probe requirement is in force; null: none is.';
comment on column probe_cover.requirement_revision is 'Revision of the probe requirements in force.';
comment on column probe_cover.requirement_valid_from is 'First production day on which it is in force; null: from the beginning.';
comment on column probe_cover.permitted_to_m is
  'Driven metres to which the face may go with the overlap left ahead of it; null: no requirement is in force, so it is not known. [m]';
comment on column probe_cover.permitted_to_chainage_m is 'The same as chainage. [m]';
comment on column probe_cover.permitted_m is 'From the face to there. [m]';
comment on column probe_cover.stroke_length_m is 'Length of a full stroke of the machine at the face; null: not given. [m]';
comment on column probe_cover.permitted_strokes is 'Whole strokes within permitted_m.';
comment on column probe_cover.permitted_strokes_m is 'Length of those strokes. [m]';
comment on column probe_cover.overlap_m is 'Overlap that the face must keep where it has to stop. [m]';
comment on column probe_cover.overlap_requirement is 'Name of the requirement that asks for it.';
comment on column probe_cover.has_end is 'Whether there is a place ahead that is not covered as required.';
comment on column probe_cover.end_requirement is 'Name of the requirement at the first such place; null: none names it.';
comment on column probe_cover.end_required_holes is 'Holes required there.';
comment on column probe_cover.end_counted_holes is 'Holes that count there.';
comment on column probe_cover.end_sector_from_deg is 'Clock positions at which the required sectors begin. [°]';
comment on column probe_cover.end_sector_to_deg is 'Clock positions at which they end. [°]';
comment on column probe_cover.end_empty_sectors is 'Sectors without a hole that counts there, by their place in the list, from 1.';
comment on column probe_cover.end_least_length_m is 'Minimum length of a hole there. [m]';
comment on column probe_cover.next_hold_point is
  'The next hold point at or ahead of the face that is not released; null: none. It does not shorten permitted_m.';
comment on column probe_cover.next_hold_point_chainage_m is 'Its chainage. [m]';
comment on column probe_cover.to_next_hold_point_m is 'From the face to it; 0 when the face is at it. [m]';
comment on column probe_cover.passed_hold_point_count is 'Hold points behind the face that are not released.';
