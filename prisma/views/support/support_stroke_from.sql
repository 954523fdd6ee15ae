-- The cells in which support is looked at, from the start of the drive or of a stroke on: strokes, as support is put in by strokes, and what lies between
-- them without a boring. What is longer than 2.5 m (imported, or not recorded) is cut into equal parts of at most that, each end to the nearest millimetre.
-- A stroke that begins before that place has no beginning behind it.
create or replace function support_stroke_from(drive_id int, from_m numeric) returns numeric[] language sql stable begin atomic
  with stroke as materialized (
    select b.stroke_number, (min(b.from_m) * 1000)::int as from_mm, (max(b.to_m) * 1000)::int as to_mm from boring b
    where b.drive_id = support_stroke_from.drive_id and b.to_m > support_stroke_from.from_m
    group by b.stroke_number
  ), span as (
    select mm as from_mm, lead(mm) over (order by mm) - mm as length_mm
    from (
      select (support_stroke_from.from_m * 1000)::int as mm
      union
      select s.from_mm from stroke s
      where support_stroke_from.from_m = 0 or s.from_mm >= support_stroke_from.from_m * 1000 and not exists (
        select from ( -- those of this stroke, rather than all before that place
          select b.from_m from boring b where b.drive_id = support_stroke_from.drive_id and b.stroke_number = s.stroke_number offset 0
        ) b
        where b.from_m < support_stroke_from.from_m)
      union
      select s.to_mm from stroke s
    ) mark
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

comment on function support_stroke_from(int, numeric) is
  'Bounds of a drive''s strokes from its start, or that of a stroke, to the face, and of what lies between them, cut to 2.5 m at the most. [driven m]';
