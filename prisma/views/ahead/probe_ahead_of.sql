-- One row per length ahead of the face of a drive with the same holes and the same requirement, along the drive to infinity; none if no
-- requirement is in force. A place is covered when as many counted holes reach over it as are required, and each sector has one. Holes
-- shorter than the minimum do not count; an abandoned hole counts to the depth reached if its planned length was sufficient.
create or replace function probe_ahead_of(drive_id int) returns table (
  from_m numeric, to_m numeric, requirement text, required_holes int, counted_holes int, sector_from_deg numeric[], sector_to_deg numeric[],
    empty_sectors int[],
  overlap_m numeric, least_length_m numeric, is_covered boolean)
language sql stable begin atomic
  with place as materialized (
    select d.id as drive_id, coalesce((select max(b.to_m) from boring b where b.drive_id = d.id), 0.000) as face_m
    from drive d where d.id = probe_ahead_of.drive_id
  ), stretch as materialized (
    select s.* from place cross join lateral probe_stretch_of(place.drive_id) s where s.to_m > place.face_m
  ), hole as materialized (
    select h.collar_m, h.reach_m, h.position_deg, h.azimuth_deg, h.qualifying_length_m
    from place join probe_hole_cover h on h.drive_id = place.drive_id
    where h.gives_cover and h.reach_m > place.face_m
  ), cut as (
    select place.face_m as m from place
    union select s.from_m from place join stretch s on s.from_m > place.face_m
    union select h.collar_m from place join hole h on h.collar_m > place.face_m
    union select h.reach_m from hole h
  ), cell as (
    select m as from_m, lead(m, 1, 'infinity') over (order by m) as to_m from cut
  )
  select c.from_m, c.to_m, s.requirement, s.hole_count, over_it.holes, s.sector_from_deg, s.sector_to_deg, lacking.sectors, s.overlap_m, s.least_length_m,
    s.requirement is not null and over_it.holes >= s.hole_count and lacking.sectors = '{}'
  from cell c
  join stretch s on s.from_m <= c.from_m and s.to_m > c.from_m
  cross join lateral (
    select count(*)::int as holes from hole h
    where h.collar_m <= c.from_m and h.reach_m > c.from_m and (s.least_length_m is null or h.qualifying_length_m >= s.least_length_m)
  ) over_it
  cross join lateral (
    select coalesce(array_agg(i order by i), '{}') as sectors from generate_subscripts(s.sector_from_deg, 1) i
    where not exists (
      select from hole h
      where h.collar_m <= c.from_m and h.reach_m > c.from_m and (s.least_length_m is null or h.qualifying_length_m >= s.least_length_m)
        and probe_in_sector(h.position_deg, h.azimuth_deg, s.sector_from_deg[i], s.sector_to_deg[i]))
  ) lacking;
end;

comment on function probe_ahead_of(int) is
  'What is required and what counts ahead of the face, by length in driven metres [m]: holes, sectors without one (by their place in the list), covered or '
  'not.';
