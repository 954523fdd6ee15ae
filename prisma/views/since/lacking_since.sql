-- What strokes lack from the place on up to which what is kept stands: judged, and numbered as in the whole drive.
create or replace function lacking_since(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 500 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select j.kind, j.cell + s.cell - 1, j.from_m, j.to_m, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated, j.installed, j.missing,
    j.short_from_m, j.rests_on, j.demanded_from_m, j.demanded_to_m
  from support_judged_of(lacking_since.drive_id, null) j cross join judged_since(lacking_since.drive_id) s where j.kind in ('stroke', 'gap');
end;

comment on function lacking_since(int) is 'What strokes lack from the place on up to which what is kept stands: see support_lacking_of of schema report.';
