-- Baseline and governing class along a drive, from its start to the face, divided wherever either changes. same_m, other_m and unclassed_m are
-- cumulative: metres up to the end of the row where the governing class is the baseline's, another, or none; they sum to to_m.
create or replace function baseline_strip(project text, drive text, baseline text)
returns table (
  number int, from_chainage_m numeric, to_chainage_m numeric, from_m numeric, to_m numeric, length_m numeric, baseline_class_code text,
  governing_class_code text, basis text, same_m numeric, other_m numeric, unclassed_m numeric, drive_id int,
  contested_state text, is_draft boolean)
language sql stable begin atomic
  with place as (
    select f.drive_id as id, f.start_chainage_m, f.direction, f.face_m from drive_progress f
    where f.project_code = baseline_strip.project and f.drive_code = baseline_strip.drive
  ), expected as materialized (
    select row_number() over (order by g.from_m)::int as id, g.from_m, g.to_m, g.ground_class_code
    from place join baseline_ground g on g.drive_id = place.id and g.baseline = baseline_strip.baseline and g.from_m < place.face_m
  ), governing as materialized (
    select row_number() over (order by r.from_m)::int as id, r.from_m, r.to_m, r.ground_class_code, r.basis, r.contested_state, r.is_draft
    from place cross join lateral governing_class_of(place.id) r where r.from_m < place.face_m
  ), cut as (
    select c.m, max(c.expected) as expected, max(c.governing) as governing
    from (
      select from_m as m, id as expected, null::numeric[] as governing from expected
      union all select from_m, null, array[from_m, to_m, id] from governing
      union all select to_m, null, null from governing
    ) c
    group by c.m
  ), tile as (
    select cut.m as from_m, lead(cut.m, 1, place.face_m) over along as to_m, max(cut.expected) over along as expected,
      max(cut.governing) over along as governing
    from place join cut on cut.m < place.face_m
    window along as (order by cut.m)
  ), piece as (
    select t.from_m, t.to_m, t.to_m - t.from_m as length_m, e.ground_class_code as baseline_class_code, r.ground_class_code as governing_class_code, r.basis,
      r.contested_state, coalesce(r.is_draft, false) as is_draft
    from tile t
    join expected e on e.id = t.expected
    left join governing r on r.id = t.governing[3]::int and r.to_m > t.from_m
  )
  select row_number() over (order by k.from_m)::int, chainage_of_driven(place.start_chainage_m, place.direction, k.from_m),
    chainage_of_driven(place.start_chainage_m, place.direction, k.to_m), k.from_m, k.to_m, k.length_m, k.baseline_class_code, k.governing_class_code, k.basis,
    coalesce(sum(k.length_m) filter (where k.governing_class_code = k.baseline_class_code) over along, 0.000),
    coalesce(sum(k.length_m) filter (where k.governing_class_code <> k.baseline_class_code) over along, 0.000),
    coalesce(sum(k.length_m) filter (where k.governing_class_code is null) over along, 0.000), place.id,
    k.contested_state, k.is_draft
  from place
  cross join piece k
  window along as (order by k.from_m)
  order by k.from_m;
end;

comment on function baseline_strip(text, text, text) is
  'Class of a baseline and governing class along the driven part of a drive, one row per piece, numbered; governing class and basis null where there is no '
  'class. same_m, other_m, unclassed_m: metres until the end of the piece where the governing class is the baseline''s, another, none. contested_state: there '
  'is a proposed or disputed decision. is_draft: noted by a draft shift, which is not submitted. Lengths sum to the face position exactly. [m]';
