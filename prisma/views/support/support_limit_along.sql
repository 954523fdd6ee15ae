-- The limit behind the face of each zone along a drive, by the revision that governs the place; before the first one, the
-- end of the zone behind the face, as given by the project; null if there is neither. The rows of a zone cover the drive.
-- due_to_mm: places of the stretch up to there are due.
create or replace function support_limit_along(drive_id int)
returns table (zone text, from_mm int, to_mm int, limit_mm int, due_to_mm int)
language sql stable begin atomic
  with face as materialized (
    select (coalesce(max(b.to_m), 0) * 1000)::int as mm from boring b where b.drive_id = support_limit_along.drive_id
  ), placed as materialized (
    select a.zone, a.from_mm, a.to_mm, a.limit_mm from demand_along(support_limit_along.drive_id) a where a.kind = 'limit'
  ), stretch as (
    select p.zone, p.from_mm, p.to_mm, p.limit_mm from placed p
    union all
    select z.code, 0, coalesce((select min(p.from_mm) from placed p where p.zone = z.code), 1000000000), (z.to_behind_m * 1000)::int
    from working_zone z join drive d on d.project_id = z.project_id where d.id = support_limit_along.drive_id
  )
  select s.zone, s.from_mm, s.to_mm, s.limit_mm, least(s.to_mm, face.mm - coalesce(s.limit_mm, 0)) from stretch s cross join face where s.to_mm > s.from_mm;
end;

comment on function support_limit_along(int) is
  'The limit behind the face of each zone along a drive, of the revision that governs the place, before the first the end of the zone; null: none. due_to_mm: '
  'up to there its places are due. [driven mm]';
