-- The ground class noted at a place, with density and swell of its muck; no row if none is noted. Notes do not overlap, so it is the last one
-- that begins at the place or behind it, if it extends that far.
create or replace function ground_at(drive_id int, m numeric)
returns table (ground_class_code text, density_t_per_m3 numeric, swell_percent numeric) language sql stable begin atomic
  select c.code, c.density_t_per_m3, c.swell_percent
  from noted_at(ground_at.drive_id, ground_at.m) note
  join ground_class c on c.id = note.ground_class_id
  where note.to_m > ground_at.m;
end;

comment on function ground_at(int, numeric) is
  'The ground class noted at a place of a drive (driven metres) with its density [t/m3] and swell [%]; no row where none is noted.';
