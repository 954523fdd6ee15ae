-- The length between the first and the last bound, divided wherever something changes: at the bounds, the face, the limits behind it, the classes
-- considered, the design sections, and where a revision of a list or limit begins. Each segment lies in one cell, between two consecutive bounds,
-- and has the lists that demand its support. Segments with the same lists share a number, demand. Places are integer millimetres, so that the
-- segments of an interval are found by binary search in the sorted cuts (width_bucket). The cuts are read in sub-selects: joined, the whole list
-- would be copied to each row. The demand is computed between the places where it may change, which are fewer than the cuts, and looked up by
-- each segment.
create or replace function support_segment(drive_id int, bounds numeric[])
returns table (
  segment int, cell int, from_mm int, to_mm int, is_driven boolean, is_assessed boolean, is_known boolean, demand int, design_section_id int,
  standard_support_ids int[], ground_class_ids int[], bases text[])
language sql stable begin atomic
  with place as materialized (
    select array(select (m * 1000)::int as mm from unnest(support_segment.bounds) m order by mm) as bounds_mm,
      (coalesce((select max(b.to_m) from boring b where b.drive_id = support_segment.drive_id), 0) * 1000)::int as face_mm
  ), ends as materialized (
    select face_mm, bounds_mm[1] as low_mm, bounds_mm[cardinality(bounds_mm)] as high_mm from place
  ), along as materialized (
    select a.kind, a.id, a.ground_class_id, a.limit_mm, greatest(a.from_mm, ends.low_mm) as from_mm, least(a.to_mm, ends.high_mm) as to_mm
    from ends join demand_along(support_segment.drive_id) a on a.kind = 'limit' or (a.from_mm < ends.high_mm and a.to_mm > ends.low_mm)
  ), class as materialized (
    select greatest(r.from_mm, ends.low_mm) as from_mm, least(r.to_mm, ends.high_mm) as to_mm, r.ground_class_id, r.basis
    from ends
    cross join lateral (select (c.from_m * 1000)::int as from_mm, (c.to_m * 1000)::int as to_mm, c.ground_class_id, c.basis
      from support_class_within(support_segment.drive_id, ends.low_mm * 0.001, ends.high_mm * 0.001) c) r
    where r.from_mm < ends.high_mm and r.to_mm > ends.low_mm
  ), change as materialized ( -- where what is demanded may change
    select array(
      select mm from (
        select low_mm as mm from ends
        union select from_mm from class union select to_mm from class
        union select from_mm from along union select to_mm from along
      ) found
      where mm between (select low_mm from ends) and (select high_mm from ends) order by mm) as mm
  ), cut as materialized (
    select array(
      select mm from (
        select unnest(bounds_mm) as mm from place
        union select face_mm from ends
        union select ends.face_mm - a.limit_mm from ends join along a on a.kind = 'limit'
        union select unnest(mm) from change
      ) found
      where mm between (select low_mm from ends) and (select high_mm from ends) order by mm) as mm
  ), class_part as materialized (
    select c.n, c.ground_class_id, c.basis, s.id
    from (
      select c.ground_class_id, c.basis, generate_series(width_bucket(c.from_mm, (select mm from change)),
        width_bucket(c.to_mm - 1, (select mm from change))) as n
      from class c
    ) c
    left join lateral (
      select s.id from along s
      where s.kind = 'standard' and s.ground_class_id = c.ground_class_id and ((select mm from change))[c.n] >= s.from_mm
        and ((select mm from change))[c.n] < s.to_mm
    ) s on true
  ), held as ( -- most places have one class and need not be sorted with those of several
    select n, array[ground_class_id] as ground_class_ids, array[basis] as bases, case when id is not null then array[id] end as standard_support_ids,
      id is not null as is_known
    from (select c.*, count(*) over (partition by c.n) as held from class_part c) c where held = 1
    union all
    select n, array_agg(ground_class_id order by basis), array_agg(basis order by basis), array_agg(distinct id) filter (where id is not null),
      bool_and(id is not null)
    from (select c.*, count(*) over (partition by c.n) as held from class_part c) c where held > 1
    group by n
  ), section_part as (
    select generate_series(width_bucket(s.from_mm, (select mm from change)), width_bucket(s.to_mm - 1, (select mm from change))) as n, s.id
    from along s where s.kind = 'section'
  ), ruled as materialized (
    select c.n::int, s.id as design_section_id, h.standard_support_ids, h.ground_class_ids, h.bases, s.id is not null
      or h.standard_support_ids is not null as is_listed,
      s.id is not null or coalesce(h.is_known, false) as is_known,
      dense_rank() over (order by s.id, h.standard_support_ids, h.ground_class_ids, h.bases)::int as demand
    from generate_series(1, (select cardinality(mm) from change)) c(n)
    left join held h on h.n = c.n
    left join section_part s on s.n = c.n
  ), piece as (
    select p.segment, ((select mm from cut))[p.segment] as from_mm, ((select mm from cut))[p.segment + 1] as to_mm
    from generate_series(1, (select cardinality(mm) - 1 from cut)) p(segment)
  ), found as (
    select p.*, width_bucket(p.from_mm, (select mm from change)) as n, p.to_mm <= (select face_mm from place) as is_driven from piece p offset 0
  )
  select p.segment, width_bucket(p.from_mm, (select bounds_mm from place)), p.from_mm, p.to_mm, p.is_driven, p.is_driven and r.is_listed,
    p.is_driven and r.is_known, r.demand, r.design_section_id, r.standard_support_ids, r.ground_class_ids, r.bases
  from found p
  join ruled r on r.n = p.n;
end;

comment on function support_segment(int, numeric[]) is
  'The length of a drive between rising bounds (driven metres) [m], cut wherever the demand for support changes. cell: number of the stretch between two '
  'bounds; from_mm, to_mm: driven millimetres [mm]; is_driven: behind the face; is_assessed: driven, and a design section or the standard of a class says '
  'what is demanded; is_known: of each class considered there one does; demand: the same number where the same lists rule; ground_class_ids, bases: the '
  'classes considered, and the basis of each (agreed, disputed, last_agreed, noted, proposed), place by place in both; standard_support_ids: their standards.';
