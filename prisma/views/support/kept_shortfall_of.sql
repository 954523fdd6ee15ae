-- What strokes lack, where a judgement of them is kept: no rows here, where strokes are judged. In schema report_kept it reads what is kept.
create or replace function kept_shortfall_of(drive_id int)
returns table (support_item_id int, zone text, missing numeric, demanded_from_m numeric, demanded_to_m numeric)
language sql stable begin atomic
  select null::int, null::text, null::numeric, null::numeric, null::numeric where false;
end;

comment on function kept_shortfall_of(int) is
  'What strokes lack as a judgement of them is kept, in the item''s unit, and where in the stroke it is demanded [driven m]; no rows where strokes are judged.';
