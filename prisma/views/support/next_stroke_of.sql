-- What is missing from the record before the next stroke, by the id of a drive: next_stroke_row_of with names and chainages.
create or replace function next_stroke_of(drive_id int, stroke_length_m numeric)
returns table (
  zone text, limit_m numeric, stroke_length_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, not_assessed_m numeric, is_limit_shorter boolean,
  item_code text, kind text, description text, unit text, from_chainage_m numeric, to_chainage_m numeric, required numeric, installed numeric, missing numeric,
  from_m numeric, to_m numeric, rests_on text, words text)
language sql stable begin atomic
  select r.zone, r.limit_m, r.stroke_length_m, r.complete_to_m, r.complete_to_chainage_m, r.not_assessed_m, r.is_limit_shorter, r.item_code, i.kind::text,
    i.description, i.unit::text, chainage_of_driven(d.start_chainage_m, d.direction, r.from_m), chainage_of_driven(d.start_chainage_m, d.direction, r.to_m),
    r.required, r.installed, r.missing, r.from_m, r.to_m, r.rests_on, r.words
  from drive d
  cross join lateral next_stroke_row_of(d.id, next_stroke_of.stroke_length_m) r
  left join support_item i on i.id = r.support_item_id
  where d.id = next_stroke_of.drive_id;
end;

comment on function next_stroke_of(int, numeric) is
  'What is listed by before_next_stroke, by the id of a drive; words: the row as the service answers it (JSON). In metres and the item''s unit. Decision '
  'support; see there.';
