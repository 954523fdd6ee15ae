-- The cached shortfall of strokes: no rows here, where strokes are assessed. In schema report_kept it reads the cache.
create or replace function kept_shortfall_of(drive_id int)
returns table (support_item_id int, zone text, missing numeric, demanded_from_m numeric, demanded_to_m numeric)
language sql stable begin atomic
  select null::int, null::text, null::numeric, null::numeric, null::numeric where false;
end;

comment on function kept_shortfall_of(int) is
  'Cached shortfall of strokes, in the item''s unit, and where in the stroke it is demanded [driven m]; no rows where strokes are assessed.';
