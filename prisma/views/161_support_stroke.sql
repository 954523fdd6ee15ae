-- The cells in which support is looked at near the face: strokes, as support is put in by strokes, and what lies between
-- them without a boring. What is longer than 2.5 m (imported, or not recorded) is cut into equal parts of at most that.
create or replace function support_stroke(drive_id int) returns numeric[] language sql stable begin atomic
  with stroke as materialized (
    select min(b.from_m) as from_m, max(b.to_m) as to_m from boring b where b.drive_id = support_stroke.drive_id group by b.stroke_number
  ), span as (
    select m as from_m, lead(m) over (order by m) as to_m from (select 0.000 as m union select from_m from stroke union select to_m from stroke) mark
  )
  select array(
    select round(from_m + (to_m - from_m) * i / parts, 3) as m
    from (select *, ceil((to_m - from_m) / 2.5)::int as parts from span where to_m is not null) long cross join lateral generate_series(0, parts - 1) i
    union
    select max(from_m) from span
    order by m);
end;

comment on function support_stroke(int) is
  'Bounds of a drive''s strokes from its start to the face, and of what lies between them, cut to 2.5 m at the most. [driven m]';
