-- One row per stretch of a drive with one probe requirement, from its start to infinity; none if no requirement is in force. The requirement at
-- the end of the drive applies beyond it, as holes may reach there. requirement: null where none applies to the place.
create or replace function probe_stretch_of(drive_id int) returns table (
  from_m numeric, to_m numeric, requirement text, hole_count int, sector_from_deg numeric[], sector_to_deg numeric[], overlap_m numeric, least_length_m numeric)
language sql stable begin atomic
  with asked as materialized (
    select q.name, q.from_m, case when q.to_m < drive_length(d.start_chainage_m, d.end_chainage_m) then q.to_m else 'infinity' end as to_m, q.hole_count,
      q.sector_from_deg,
      q.sector_to_deg, q.overlap_m, q.least_length_m
    from drive d join probe_requirement_in_force q on q.drive_id = d.id
    where d.id = probe_stretch_of.drive_id
  ), bound as (
    select 0.000 as m union select a.from_m from asked a where a.from_m is not null union select a.to_m from asked a where a.from_m is not null
      and a.to_m < 'infinity'
  ), stretch as (
    select m as from_m, lead(m, 1, 'infinity') over (order by m) as to_m from bound
  )
  select s.from_m, s.to_m, q.name, q.hole_count, q.sector_from_deg, q.sector_to_deg, q.overlap_m, q.least_length_m
  from stretch s
  left join lateral (
    select a.* from asked a where a.from_m is null or (a.from_m <= s.from_m and a.to_m > s.from_m) order by a.from_m nulls last limit 1
  ) q on true
  where exists (select from asked);
end;

comment on function probe_stretch_of(int) is
  'The probe requirement in force along a drive, by stretch in driven metres [m]; what holds at its end holds beyond it.';
