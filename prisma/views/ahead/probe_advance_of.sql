-- One row for a drive: how far the requirements are covered without a gap, and how far the face may advance so that the overlap is kept ahead
-- of it all the way; no row if no requirement is in force. covered_to_m: null if nothing ends the cover. end_…: the first place that is not
-- covered. The overlap is that of the requirement at the face as it advances, so a longer one further on stops the face where it begins.
create or replace function probe_advance_of(drive_id int) returns table (
  covered_to_m numeric, permitted_to_m numeric, overlap_m numeric, overlap_requirement text, end_requirement text, end_required_holes int,
    end_counted_holes int,
  end_sector_from_deg numeric[], end_sector_to_deg numeric[], end_empty_sectors int[], end_least_length_m numeric)
language sql stable begin atomic
  with cell as materialized (
    select a.* from probe_ahead_of(probe_advance_of.drive_id) a
  ), ended as materialized (
    select c.* from cell c where not c.is_covered order by c.from_m limit 1
  ), stopped as (
    select c.from_m, greatest(c.from_m, e.from_m - coalesce(c.overlap_m, 0)) as m, c.overlap_m, c.requirement
    from cell c cross join ended e
    where e.from_m - coalesce(c.overlap_m, 0) < c.to_m
    order by c.from_m limit 1
  )
  select e.from_m, least(s.m, drive_length(d.start_chainage_m, d.end_chainage_m)), s.overlap_m, s.requirement, e.requirement, e.required_holes, e.counted_holes,
    e.sector_from_deg, e.sector_to_deg, e.empty_sectors, e.least_length_m
  from drive d
  left join ended e on true
  left join stopped s on true
  where d.id = probe_advance_of.drive_id and exists (select from cell);
end;

comment on function probe_advance_of(int) is
  'To where the required probing covers a drive ahead of its face, to where the face may go with the overlap left, in driven metres [m], and what ends it.';
