-- Cached runs of strokes with the same shortfall: see support_run_of of schema report.
-- It is read as a whole, and the setting prevents inlining: queries are planned with the number of rows declared here, whatever the statistics.
create or replace function support_run_of(drive_id int)
returns table (
  zone text, support_item_id int, from_m numeric, to_m numeric, last_from_m numeric, required numeric, installed numeric, missing numeric, rests_on text,
  not_assessed_m numeric, cells int[], froms_m numeric[], tos_m numeric[], all_required numeric[], all_installed numeric[], all_missing numeric[],
    all_rest_on text[], words text)
language sql stable rows 5000 set search_path = pg_catalog begin atomic
  select k.zone, k.support_item_id, k.from_m, k.to_m, k.last_from_m, k.required, k.installed, k.missing, k.rests_on, k.not_assessed_m, k.cells, k.froms_m,
    k.tos_m, k.all_required, k.all_installed, k.all_missing, k.all_rest_on, k.words
  from kept.run k where k.drive_id = support_run_of.drive_id;
end;

comment on function support_run_of(int) is 'Runs of strokes that lack the same, as they are kept: see support_run_of of schema report.';
