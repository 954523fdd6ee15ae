-- The bounds of strokes, as they are kept up to the place where that stands, and from there as they are: see support_stroke of schema report.
create or replace function support_stroke(drive_id int) returns numeric[] language sql stable set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select k.strokes[:s.cell - 1] || support_stroke_from(support_stroke.drive_id, s.from_m)
  from judged_since(support_stroke.drive_id) s join kept.judgement k on k.drive_id = support_stroke.drive_id;
end;

comment on function support_stroke(int) is 'The bounds of strokes, as they are kept up to the place where that stands, and from there as they are. [driven m]';
