-- What strokes lack, as it is kept up to the place where that stands and as it is judged from there: see support_lacking_of of schema report.
create or replace function support_lacking_of(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 20000 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select k.kind, k.cell, k.from_m, k.to_m, k.support_item_id, k.zone, k.length_m, k.required, k.tolerated, k.installed, k.missing, k.short_from_m, k.rests_on,
    k.demanded_from_m, k.demanded_to_m
  from judged_since(support_lacking_of.drive_id) s join kept.lacking k on k.drive_id = support_lacking_of.drive_id and k.cell < s.cell
  union all
  select * from lacking_since(support_lacking_of.drive_id);
end;

comment on function support_lacking_of(int) is
  'What strokes lack, as it is kept up to the place where that stands and as it is judged from there: see support_lacking_of of schema report.';
