-- The cells for assessing support near the face: strokes, because support is installed stroke by stroke, and lengths between them without a
-- boring. Those longer than 2.5 m (imported, or not recorded) are divided into equal parts of at most that, each end to the nearest millimetre.
create or replace function support_stroke(drive_id int) returns numeric[] language sql stable begin atomic
  with stroke as materialized (
    select (min(b.from_m) * 1000)::int as from_mm, (max(b.to_m) * 1000)::int as to_mm from boring b where b.drive_id = support_stroke.drive_id
      group by b.stroke_number
  ), span as (
    select mm as from_mm, lead(mm) over (order by mm) - mm as length_mm
      from (select 0 as mm union select from_mm from stroke union select to_mm from stroke) mark
  )
  select array(
    select mm * 0.001 from (
      select from_mm as mm from span where length_mm <= 2500 or length_mm is null -- the last mark is the end
      union all
      select from_mm + ((2 * length_mm::bigint * i + parts) / (2 * parts))::int
      from (select *, (length_mm + 2499) / 2500 as parts from span where length_mm > 2500 offset 0) long cross join lateral generate_series(0, parts - 1) i
    ) bound
    order by mm);
end;

comment on function support_stroke(int) is
  'Bounds of a drive''s strokes from its start to the face, and of what lies between them, cut to 2.5 m at the most. [driven m]';
