-- What is carried into the first stroke that is judged again, as it is kept: see carried_of of schema report.
create or replace function carried_of(drive_id int)
returns table (support_item_id int, zone text, carried numeric, tolerated numeric)
language sql stable rows 10 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select k.support_item_id, k.zone, k.carried, k.tolerated
  from judged_since(carried_of.drive_id) s join kept.checkpoint k on k.drive_id = carried_of.drive_id and k.cell = s.cell
  where k.support_item_id is not null;
end;

comment on function carried_of(int) is 'What is carried into the first stroke that is judged again, as it is kept: see carried_of of schema report.';
