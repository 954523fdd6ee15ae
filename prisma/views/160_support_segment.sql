-- The length between the first and the last bound, cut wherever something changes: at the bounds, the face, the limits behind
-- it, the classes held of the ground, the design sections, and where a revision of a list or limit begins. Each segment lies in one
-- cell, between two bounds that follow one another, and knows by what its support is demanded. Segments with the same lists
-- share a number, demand. Places are whole millimetres, so that the segments of an interval are found in the sorted cuts by halving
-- (width_bucket). The cuts are asked for in sub-selects: joined, the whole list would go with each row.
create or replace function support_segment(drive_id int, bounds numeric[])
returns table (
  segment int, cell int, from_mm int, to_mm int, is_driven boolean, is_assessed boolean, is_known boolean, demand int, design_section_id int,
  standard_support_ids int[], ground_class_ids int[], bases text[])
language sql stable begin atomic
  with place as materialized (
    select array(select (m * 1000)::int from unnest(support_segment.bounds) m order by m) as bounds_mm,
      (coalesce((select max(b.to_m) from boring b where b.drive_id = support_segment.drive_id), 0) * 1000)::int as face_mm
  ), ends as materialized (
    select face_mm, bounds_mm[1] as low_mm, bounds_mm[cardinality(bounds_mm)] as high_mm from place
  ), along as materialized (
    select a.kind, a.id, a.ground_class_id, a.limit_mm, greatest(a.from_mm, ends.low_mm) as from_mm, least(a.to_mm, ends.high_mm) as to_mm
    from ends join demand_along(support_segment.drive_id) a on a.kind = 'limit' or (a.from_mm < ends.high_mm and a.to_mm > ends.low_mm)
  ), class as materialized (
    select greatest((r.from_m * 1000)::int, ends.low_mm) as from_mm, least((r.to_m * 1000)::int, ends.high_mm) as to_mm, r.ground_class_id, r.basis
    from ends
    join support_class_of(support_segment.drive_id) r on (r.from_m * 1000)::int < ends.high_mm and (r.to_m * 1000)::int > ends.low_mm
  ), cut as materialized (
    select array(
      select mm from (
        select unnest(bounds_mm) as mm from place
        union select face_mm from ends
        union select ends.face_mm - a.limit_mm from ends join along a on a.kind = 'limit'
        union select from_mm from class union select to_mm from class
        union select from_mm from along union select to_mm from along
      ) found
      where mm between (select low_mm from ends) and (select high_mm from ends) order by mm) as mm
  ), class_part as materialized (
    select c.segment, c.ground_class_id, c.basis, s.id
    from (
      select c.ground_class_id, c.basis, generate_series(width_bucket(c.from_mm, (select mm from cut)), width_bucket(c.to_mm - 1, (select mm from cut))) as segment
      from class c
    ) c
    left join lateral (
      select s.id from along s
      where s.kind = 'standard' and s.ground_class_id = c.ground_class_id and ((select mm from cut))[c.segment] >= s.from_mm and ((select mm from cut))[c.segment] < s.to_mm
    ) s on true
  ), held as ( -- of most places one class is held
    select segment, array_agg(ground_class_id order by basis) as ground_class_ids, array_agg(basis order by basis) as bases,
      array_agg(distinct id) filter (where id is not null) as standard_support_ids, bool_and(id is not null) as is_known
    from class_part group by segment
  ), section_part as materialized (
    select generate_series(width_bucket(s.from_mm, (select mm from cut)), width_bucket(s.to_mm - 1, (select mm from cut))) as segment, s.id
    from along s where s.kind = 'section'
  ), piece as (
    select p.number::int as segment, p.mm as from_mm, lead(p.mm) over (order by p.mm) as to_mm from unnest((select mm from cut)) with ordinality p(mm, number)
  )
  select p.segment, width_bucket(p.from_mm, (select bounds_mm from place)), p.from_mm, p.to_mm, place.is_driven,
    place.is_driven and (s.id is not null or h.standard_support_ids is not null), place.is_driven and (s.id is not null or coalesce(h.is_known, false)),
    dense_rank() over (order by s.id, h.standard_support_ids, h.ground_class_ids, h.bases)::int,
    s.id, h.standard_support_ids, h.ground_class_ids, h.bases
  from piece p
  cross join lateral (select p.to_mm <= (select face_mm from place) as is_driven) place
  left join held h on h.segment = p.segment
  left join section_part s on s.segment = p.segment
  where p.to_mm is not null;
end;

comment on function support_segment(int, numeric[]) is
  'The length of a drive between rising bounds (driven metres) [m], cut wherever the demand for support changes. cell: number of the stretch between two bounds; from_mm, to_mm: driven millimetres [mm]; is_driven: behind the face; is_assessed: driven, and a design section or the standard of a class says what is demanded; is_known: of each class that is held of it one does; demand: the same number where the same lists rule; ground_class_ids, bases: the classes held of it, and by what (agreed, disputed, last_agreed, noted, proposed), place by place in both; standard_support_ids: their standards.';
