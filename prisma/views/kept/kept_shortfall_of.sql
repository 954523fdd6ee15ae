-- The cached shortfall of strokes: see support_lacking_of.
create or replace function kept_shortfall_of(drive_id int)
returns table (support_item_id int, zone text, missing numeric, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 20000 set search_path = pg_catalog begin atomic
  select k.support_item_id, k.zone, k.missing, k.demanded_from_m, k.demanded_to_m
  from kept.lacking k where k.drive_id = kept_shortfall_of.drive_id and k.kind = 'stroke' and k.support_item_id is not null;
end;

comment on function kept_shortfall_of(int) is 'What strokes lack, as it is kept, in the item''s unit, and where in the stroke it is demanded [driven m].';
