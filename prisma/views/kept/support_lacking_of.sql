-- Cached shortfall of strokes: see support_lacking_of of schema report.
-- It is read as a whole, and the setting prevents inlining: queries are planned with the number of rows declared here, whatever the statistics.
create or replace function support_lacking_of(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 20000 set search_path = pg_catalog begin atomic
  select k.kind, k.cell, k.from_m, k.to_m, k.support_item_id, k.zone, k.length_m, k.required, k.tolerated, k.installed, k.missing, k.short_from_m, k.rests_on,
    k.demanded_from_m, k.demanded_to_m
  from kept.lacking k where k.drive_id = support_lacking_of.drive_id;
end;

comment on function support_lacking_of(int) is 'What strokes lack, as it is kept: see support_lacking_of of schema report.';
