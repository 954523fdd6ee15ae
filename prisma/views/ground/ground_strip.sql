-- Lithology and class along a drive, from its start to the face: the cells of its ground as far as it is driven. Empty rows are included, so
-- lengths sum to the face position exactly.
create or replace function ground_strip(project text, drive text)
returns table (
  number int, from_chainage_m numeric, to_chainage_m numeric, from_m numeric, to_m numeric, length_m numeric, lithology text,
  noted_class_code text, governing_class_code text, basis text, drive_id int,
  is_countersigned boolean, contested_number int, contested_state text, contested_class_code text)
language sql stable begin atomic
  select c.n, chainage_of_driven(f.start_chainage_m, f.direction, c.from_m), chainage_of_driven(f.start_chainage_m, f.direction, driven.to_m), c.from_m,
    driven.to_m,
    driven.to_m - c.from_m, c.lithology, c.noted_class_code, c.governing_class_code, c.basis, f.drive_id,
    c.is_countersigned, c.contested_number, c.contested_state, c.contested_class_code
  from drive_progress f
  cross join lateral ground_cell_of(f.drive_id) c
  cross join lateral (select least(c.to_m, f.face_m) as to_m) driven
  where f.project_code = ground_strip.project and f.drive_code = ground_strip.drive and c.from_m < f.face_m
  order by c.from_m;
end;

comment on function ground_strip(text, text) is
  'Lithology and class along a drive from its start to the face, one row per piece, numbered: lithology and class noted by the shifts, governing class and its '
  'basis (agreed, noted) with the decision that contests it; null where there is none. Lengths sum to the face position exactly. [m]';
