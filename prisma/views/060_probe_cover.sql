-- One row a drive: how far ahead of the face the ground is probed. Holes count over their axial reach; where holes leave
-- a gap, the cover ends. 0 when the face stands in no hole's reach.
create or replace view probe_cover as
with probed as (
  select drive_id, range_agg(numrange(collar_m, collar_m + axial_reach_m)) as reach, count(*)::int as hole_count
  from probe_hole group by drive_id
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
  f.drive_id
from drive_progress f
left join probed on probed.drive_id = f.drive_id
left join lateral (
  select upper(r) as probed_to_m from unnest(probed.reach) r where r @> f.face_m
) ahead on true;

comment on view probe_cover is
  'Probed ground ahead of the face. Decision support: it counts the holes'' axial reach and says nothing of what they found; the project''s designer and local code decide.';
comment on column probe_cover.cover_m is 'From the face to the end of the unbroken probed length that holds it; 0 when none. [m]';
