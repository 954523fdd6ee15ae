-- Required against installed by stroke, item and zone, whether due yet or not: a stroke stands or falls as a whole. A row without
-- item gives the length of the stroke that is not assessed.
create or replace function support_by_stroke(drive_id int)
returns table (
  cell int, from_m numeric, to_m numeric, support_item_id int, zone text, required numeric, installed numeric, missing_raw numeric, is_short boolean,
  not_assessed_m numeric, rests_on text)
language sql stable begin atomic
  with stroke as materialized (select support_stroke(support_by_stroke.drive_id) as bounds),
  standing as (
    select s.cell, s.from_m, s.to_m, s.support_item_id, s.zone, sum(s.required) as required, sum(s.installed) as installed, sum(s.tolerated) as tolerated,
      sum(s.length_m) as length_m, string_agg(distinct s.rests_on, '; ') as rests_on
    from stroke cross join lateral support_standing(support_by_stroke.drive_id, stroke.bounds) s
    where s.part in ('due', 'not_yet_due') or s.support_item_id is null
    group by s.cell, s.from_m, s.to_m, s.support_item_id, s.zone
  )
  select s.cell, s.from_m, s.to_m, s.support_item_id, s.zone, s.required, s.installed,
    greatest(s.required - s.installed, 0.000), s.required - s.installed > s.tolerated, case when s.support_item_id is null then s.length_m else 0.000 end, s.rests_on
  from standing s;
end;

comment on function support_by_stroke(int) is
  'Required against installed support by stroke, item and zone, in the item''s unit. is_short: more is missing than the tolerance allows; not_assessed_m: length without a class, or where a class held of it has no standard, in a row without item [m]; rests_on: by what it is demanded, in words.';
