-- The length between the first and the last bound, cut wherever something changes: at the bounds, the face, the limits behind
-- it, the ruling classes and the design sections. Each segment lies in one cell, between two bounds that follow one another,
-- and knows by what its support is demanded. Places are whole millimetres, so that the segments of an interval are found in
-- the sorted cuts by halving (width_bucket). The cuts are asked for in sub-selects: joined, the whole list would go with each row.
create or replace function support_segment(drive_id int, bounds numeric[])
returns table (
  segment int, cell int, from_mm int, to_mm int, is_driven boolean, is_assessed boolean, design_section_id int, standard_support_id int,
  ground_class_id int, basis text)
language sql stable begin atomic
  with place as materialized (
    select array(select (m * 1000)::int from unnest(support_segment.bounds) m order by m) as bounds_mm,
      (coalesce((select max(b.to_m) from boring b where b.drive_id = support_segment.drive_id), 0) * 1000)::int as face_mm
  ), ends as materialized (
    select face_mm, bounds_mm[1] as low_mm, bounds_mm[cardinality(bounds_mm)] as high_mm from place
  ), class as materialized (
    select greatest((r.from_m * 1000)::int, ends.low_mm) as from_mm, least((r.to_m * 1000)::int, ends.high_mm) as to_mm,
      r.ground_class_id, r.basis, s.id as standard_support_id
    from ends
    join ruling_class_of(support_segment.drive_id) r on (r.from_m * 1000)::int < ends.high_mm and (r.to_m * 1000)::int > ends.low_mm
    left join standard_support s on s.ground_class_id = r.ground_class_id
  ), section as materialized (
    select greatest((s.from_m * 1000)::int, ends.low_mm) as from_mm, least((s.to_m * 1000)::int, ends.high_mm) as to_mm, s.id
    from ends
    join design_section s on s.drive_id = support_segment.drive_id and (s.from_m * 1000)::int < ends.high_mm and (s.to_m * 1000)::int > ends.low_mm
  ), cut as materialized (
    select array(
      select mm from (
        select unnest(bounds_mm) as mm from place
        union select face_mm from ends
        union select ends.face_mm - (l.limit_m * 1000)::int from ends join drive_support_limit l on l.drive_id = support_segment.drive_id
        union select from_mm from class union select to_mm from class
        union select from_mm from section union select to_mm from section
      ) found
      where mm between (select low_mm from ends) and (select high_mm from ends) order by mm) as mm
  ), class_part as materialized (
    select generate_series(width_bucket(c.from_mm, (select mm from cut)), width_bucket(c.to_mm - 1, (select mm from cut))) as segment, c.ground_class_id,
      c.standard_support_id, c.basis
    from class c
  ), section_part as materialized (
    select generate_series(width_bucket(s.from_mm, (select mm from cut)), width_bucket(s.to_mm - 1, (select mm from cut))) as segment, s.id from section s
  ), piece as (
    select p.number::int as segment, p.mm as from_mm, lead(p.mm) over (order by p.mm) as to_mm from unnest((select mm from cut)) with ordinality p(mm, number)
  )
  select p.segment, width_bucket(p.from_mm, (select bounds_mm from place)), p.from_mm, p.to_mm, p.to_mm <= (select face_mm from place),
    p.to_mm <= (select face_mm from place) and coalesce(s.id, c.standard_support_id) is not null,
    s.id, c.standard_support_id, c.ground_class_id, case when s.id is not null then 'design_section' else c.basis end
  from piece p
  left join class_part c on c.segment = p.segment
  left join section_part s on s.segment = p.segment
  where p.to_mm is not null;
end;

comment on function support_segment(int, numeric[]) is
  'The length of a drive between rising bounds (driven metres) [m], cut wherever the demand for support changes. cell: number of the stretch between two bounds; from_mm, to_mm: driven millimetres [mm]; is_driven: behind the face; is_assessed: driven, with a design section or a class that has a standard; basis: design_section, or by what the class rules; null: no class.';
