-- Gaps in the spacing of pieces for which a drive's lists demand one, one row per gap: support_gap_of by chainage. due: how many of the missing
-- pieces have their last allowed position farther behind the face than the limit that governs it.
create or replace function support_gap(project text, drive text)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, length_m numeric, item_code text, zone text, pieces_per_row int,
  from_deg numeric, to_deg numeric, spacing_m numeric, tolerance_m numeric, missing int, due int, is_open boolean, pieces_without_arc int, rests_on text,
  drive_id int, from_m numeric, to_m numeric, direction text, around_spacing_m numeric, around_tolerance_m numeric, gap_from_deg numeric, gap_to_deg numeric,
  found_m numeric, allowed_m numeric)
language sql stable begin atomic
  with place as materialized (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m from drive d join project p on p.id = d.project_id
    where p.code = support_gap.project and d.code = support_gap.drive
  ), stretch as materialized (
    select l.* from place cross join lateral support_limit_along(place.id) l
  )
  select p.project_code, p.drive_code, chainage_of_driven(p.start_chainage_m, p.direction, g.from_m),
    chainage_of_driven(p.start_chainage_m, p.direction, g.to_m), g.to_m - g.from_m, i.code, g.zone::text,
    g.pieces_per_row, g.from_deg, g.to_deg, g.spacing_m, g.tolerance_m, cardinality(g.places_mm),
    (select count(*)::int from unnest(g.places_mm) m join stretch s on s.zone = g.zone and m >= s.from_mm and m < s.due_to_mm), g.is_open, g.unplaced,
      g.rests_on,
    p.id, g.from_m, g.to_m, g.direction, g.around_spacing_m, g.around_tolerance_m, g.gap_from_deg, g.gap_to_deg, g.found_m,
    round(g.allowed_m, greatest(3, min_scale(g.allowed_m)))
  from place p
  cross join lateral support_gap_of(p.id) g
  join support_item i on i.id = g.support_item_id;
end;

comment on function support_gap(text, text) is
  'Gaps in the spacing of pieces along a drive [m]: between which places, their length, what spacing and tolerance are demanded (the largest of the stretches '
  'touched), pieces missing, how many of them are due, whether the gap reaches the face, and pieces in it without a place on the ring, which do not count for '
  'a sector. direction: along the drive, or around, in the row that lies from from_m to to_m, between two places on the ring [deg]; found_m, allowed_m: the '
  'distance of two pieces that was found and that is allowed, half of it at the ends of a sector, by the circumference as bored [m]. Decision support: it '
  'shows what the record holds, which may be late; the project''s designer, the responsible engineer on site and the local code decide, by inspection.';
