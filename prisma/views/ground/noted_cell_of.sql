-- A drive divided where the ground class noted by the shifts changes: cells numbered along it from its start, without a gap; the
-- last one is open. Class 0: none noted. Integer millimetres and numbers only, so that a place is found in sorted arrays of them
-- by binary search.
create or replace function noted_cell_of(drive_id int)
returns table (n int, from_mm int, ground_class_id int)
language sql stable begin atomic
  with note as materialized (
    select (g.from_m * 1000)::int as from_mm, (g.to_m * 1000)::int as to_mm, g.ground_class_id
    from ground_interval g where g.drive_id = noted_cell_of.drive_id
  )
  select row_number() over (order by cell.from_mm)::int, cell.from_mm, cell.ground_class_id
  from (
    select note.from_mm, note.ground_class_id from note
    union all
    select place.mm, 0 from (select 0 as mm union all select note.to_mm from note) place
    where not exists (select from note where note.from_mm = place.mm)
  ) cell;
end;

comment on function noted_cell_of(int) is
  'Cells of a drive by the ground class noted by the shifts, numbered along it: where each begins [driven mm] and its class, 0 where none is noted. The last '
  'one is open.';
