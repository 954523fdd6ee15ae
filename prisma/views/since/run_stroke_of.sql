-- The strokes of which runs are made: those judged again, and before them those of runs that reach the place where judging begins.
create or replace function run_stroke_of(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 500 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  with since as materialized (
    select s.cell, s.from_m from judged_since(run_stroke_of.drive_id) s
  ), open as materialized (
    select r.zone, r.support_item_id, r.from_m, s.cell as before_cell
    from since s join kept.run r on r.drive_id = run_stroke_of.drive_id and r.from_m < s.from_m and r.to_m >= s.from_m
    where r.support_item_id is not null
  )
  select k.kind, k.cell, k.from_m, k.to_m, k.support_item_id, k.zone, k.length_m, k.required, k.tolerated, k.installed, k.missing, k.short_from_m, k.rests_on,
    k.demanded_from_m, k.demanded_to_m
  from open
  join kept.lacking k on k.zone = open.zone and k.support_item_id = open.support_item_id and k.from_m >= open.from_m and k.cell < open.before_cell
  where k.drive_id = run_stroke_of.drive_id and k.kind = 'stroke'
  union all
  select * from lacking_since(run_stroke_of.drive_id);
end;

comment on function run_stroke_of(int) is 'The strokes of which runs are made that have not ended before the place up to which what is kept stands.';
