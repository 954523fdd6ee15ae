-- One row a drive: how far ahead of the face the ground is probed. Holes that give cover count over their axial reach; where they
-- leave a gap, the cover ends. 0 when the face stands in no hole's reach.
create or replace view probe_cover as
with probed as (
  select drive_id, range_agg(numrange(collar_m, reach_m)) filter (where gives_cover) as reach, count(*)::int as hole_count,
    (count(*) filter (where gives_cover))::int as counted_hole_count, (count(*) filter (where without_position))::int as without_position_count,
    (count(*) filter (where beyond_look_out_limit))::int as beyond_look_out_limit_count,
    (count(*) filter (where without_time))::int as without_time_count, (count(*) filter (where not_yet_drilled))::int as not_yet_drilled_count
  from probe_hole_reading group by drive_id
)
select
  f.project_code,
  f.drive_code,
  f.face_m,
  f.face_chainage_m,
  coalesce(ahead.probed_to_m, f.face_m) as probed_to_m,
  f.start_chainage_m + f.direction * coalesce(ahead.probed_to_m, f.face_m) as probed_to_chainage_m,
  coalesce(ahead.probed_to_m - f.face_m, 0.000) as cover_m,
  coalesce(probed.hole_count, 0) as hole_count,
  f.drive_id,
  coalesce(probed.counted_hole_count, 0) as counted_hole_count,
  coalesce(probed.without_position_count, 0) as without_position_count,
  coalesce(probed.beyond_look_out_limit_count, 0) as beyond_look_out_limit_count,
  d.probe_look_out_limit_deg as look_out_limit_deg,
  coalesce(probed.without_time_count, 0) as without_time_count,
  coalesce(probed.not_yet_drilled_count, 0) as not_yet_drilled_count
from drive_progress f
join drive d on d.id = f.drive_id
left join probed on probed.drive_id = f.drive_id
left join lateral (
  select upper(r) as probed_to_m from unnest(probed.reach) r where r @> f.face_m
) ahead on true;

comment on view probe_cover is
  'Probed ground ahead of the face. Decision support: it counts the holes'' axial reach and says nothing of what they found; the project''s designer and local code decide.';
comment on column probe_cover.cover_m is 'From the face to the end of the unbroken probed length that holds it; 0 when none. [m]';
comment on column probe_cover.hole_count is 'All probe holes of the drive.';
comment on column probe_cover.counted_hole_count is 'Those that give cover.';
comment on column probe_cover.without_position_count is 'Holes that give no cover, their position on the ring not being noted.';
comment on column probe_cover.beyond_look_out_limit_count is 'Holes that give no cover, their look-out angle being above the limit; a hole may fail in several ways and is counted for each.';
comment on column probe_cover.look_out_limit_deg is 'Look-out angle above which a hole gives no cover. [°]';
comment on column probe_cover.without_time_count is 'Holes that give no cover, the time of drilling not being noted.';
comment on column probe_cover.not_yet_drilled_count is 'Holes that give no cover, their time of drilling lying after the moment asked for.';
