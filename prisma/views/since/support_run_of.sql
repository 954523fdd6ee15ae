-- Runs of strokes that lack the same: as they are kept if they end before the place up to which that stands, else judged.
create or replace function support_run_of(drive_id int)
returns table (
  zone text, support_item_id int, from_m numeric, to_m numeric, last_from_m numeric, required numeric, installed numeric, missing numeric, rests_on text,
  not_assessed_m numeric, cells int[], froms_m numeric[], tos_m numeric[], all_required numeric[], all_installed numeric[], all_missing numeric[],
    all_rest_on text[], words text)
language sql stable rows 5000 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select k.zone, k.support_item_id, k.from_m, k.to_m, k.last_from_m, k.required, k.installed, k.missing, k.rests_on, k.not_assessed_m, k.cells, k.froms_m,
    k.tos_m, k.all_required, k.all_installed, k.all_missing, k.all_rest_on, k.words
  from judged_since(support_run_of.drive_id) s
  join kept.run k on k.drive_id = support_run_of.drive_id and case when k.support_item_id is null then k.from_m else k.to_m end < s.from_m
  union all
  select * from support_run_judged(support_run_of.drive_id);
end;

comment on function support_run_of(int) is 'Runs of strokes that lack the same, as they are kept and judged: see support_run_of of schema report.';
