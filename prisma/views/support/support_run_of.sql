-- Runs of strokes with the same shortfall: support_run_judged here, its cached results in schema report_kept.
create or replace function support_run_of(drive_id int)
returns table (
  zone text, support_item_id int, from_m numeric, to_m numeric, last_from_m numeric, required numeric, installed numeric, missing numeric, rests_on text,
  not_assessed_m numeric, cells int[], froms_m numeric[], tos_m numeric[], all_required numeric[], all_installed numeric[], all_missing numeric[],
    all_rest_on text[], words text)
language sql stable begin atomic
  select * from support_run_judged(support_run_of.drive_id);
end;

comment on function support_run_of(int) is 'Runs of strokes that lack the same, whatever the limit: see support_run_judged.';
