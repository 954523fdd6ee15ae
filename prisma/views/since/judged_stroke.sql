-- The bounds of the strokes that are judged: from the place on up to which what is kept stands, unless only what lies before it is asked for.
create or replace function judged_stroke(drive_id int, bounds numeric[]) returns numeric[] language sql stable set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select coalesce((
    select support_stroke_from(judged_stroke.drive_id, s.from_m) from judged_since(judged_stroke.drive_id) s
    where judged_stroke.bounds is null or judged_stroke.bounds[cardinality(judged_stroke.bounds)] > s.from_m), '{}');
end;

comment on function judged_stroke(int, numeric[]) is
  'The bounds of the strokes that are judged: from the place on up to which what is kept stands, unless only what lies before it is asked for. [driven m]';
