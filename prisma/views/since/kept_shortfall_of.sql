-- What strokes lack, as it is kept: of those before the place up to which it stands.
create or replace function kept_shortfall_of(drive_id int)
returns table (support_item_id int, zone text, missing numeric, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 20000 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select k.support_item_id, k.zone, k.missing, k.demanded_from_m, k.demanded_to_m
  from judged_since(kept_shortfall_of.drive_id) s join kept.lacking k on k.drive_id = kept_shortfall_of.drive_id and k.cell < s.cell
  where k.kind = 'stroke' and k.support_item_id is not null;
end;

comment on function kept_shortfall_of(int) is
  'What strokes lack, as it is kept, of those before the place up to which it stands, in the item''s unit, and where in the stroke it is demanded [driven m].';
