-- The ground class noted at a place, otherwise the one that ends there; no row if there is neither. Notes do not overlap, so it is the last one
-- that begins at the place or behind it, if it extends that far.
create or replace function noted_at(drive_id int, m numeric)
returns table (ground_class_id int, to_m numeric) language sql stable begin atomic
  select note.ground_class_id, note.to_m
  from (
    select g.ground_class_id, g.to_m from ground_interval g
    where g.drive_id = noted_at.drive_id and g.from_m <= noted_at.m order by g.from_m desc limit 1
  ) note
  where note.to_m >= noted_at.m;
end;

comment on function noted_at(int, numeric) is
  'The ground class noted at a place of a drive (driven metres), else the one whose note ends there, and where that note ends [m]; no row where neither is.';
