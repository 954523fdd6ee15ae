-- A run of strokes that lack an item, in the form of the answer before the next stroke: a JSON object, numbers as text.
create or replace function missing_run_words(
  zone text, item_code text, kind text, description text, unit text, from_chainage_m numeric, to_chainage_m numeric, required numeric, installed numeric,
  missing numeric, rests_on text)
returns table (words text) language sql stable begin atomic
  select to_json(t)::text
  from (
    select missing_run_words.zone as zone, missing_run_words.item_code as item, missing_run_words.kind as kind, missing_run_words.description as description,
      missing_run_words.unit as unit, chainage_text(missing_run_words.from_chainage_m) as "from", chainage_text(missing_run_words.to_chainage_m) as "to",
      missing_run_words.required::text as required, missing_run_words.installed::text as installed, missing_run_words.missing::text as missing,
      missing_run_words.rests_on as "restsOn"
  ) t;
end;

comment on function missing_run_words(text, text, text, text, text, numeric, numeric, numeric, numeric, numeric, text) is
  'A run of strokes that lack an item as a JSON object, numbers as text: as the service answers it before the next stroke.';
