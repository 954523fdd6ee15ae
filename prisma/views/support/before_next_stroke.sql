-- What is missing from the record for the strokes that would lie beyond a zone's limit after the face has advanced by one more stroke:
-- next_stroke_of by the codes of project and drive.
create or replace function before_next_stroke(project text, drive text, stroke_length_m numeric)
returns table (
  project_code text, drive_code text, zone text, limit_m numeric, stroke_length_m numeric, complete_to_m numeric, complete_to_chainage_m numeric,
  not_assessed_m numeric, is_limit_shorter boolean, item_code text, kind text, description text, unit text, from_chainage_m numeric,
  to_chainage_m numeric, required numeric, installed numeric, missing numeric, drive_id int, from_m numeric, to_m numeric, rests_on text)
language sql stable begin atomic
  select p.code, d.code, n.zone, n.limit_m, n.stroke_length_m, n.complete_to_m, n.complete_to_chainage_m, n.not_assessed_m, n.is_limit_shorter, n.item_code,
    n.kind,
    n.description, n.unit, n.from_chainage_m, n.to_chainage_m, n.required, n.installed, n.missing, d.id, n.from_m, n.to_m, n.rests_on
  from drive d
  join project p on p.id = d.project_id
  cross join lateral next_stroke_of(d.id, before_next_stroke.stroke_length_m) n
  where p.code = before_next_stroke.project and d.code = before_next_stroke.drive;
end;

comment on function before_next_stroke(text, text, numeric) is
  'What the record misses in the strokes that would lie beyond a zone''s limit after one more stroke of the given length, null: of the machine''s [m]; by '
  'zone, item and run of strokes, in the item''s unit. complete_to_m: up to there the zone must be complete [m]; not_assessed_m: length of the strokes behind '
  'there without a class, or where a class considered there has no standard [m]; is_limit_shorter: the limit is shorter than a stroke; without item: a zone '
  'with a limit. stroke_length_m null: the machine gives none, and only what is overdue now is listed; rests_on: what demands it, in words. Decision support: '
  'it shows what the record holds, which may be late; the project''s designer, the responsible engineer on site and the local code decide, by inspection.';
