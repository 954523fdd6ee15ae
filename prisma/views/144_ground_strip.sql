-- Lithology and class along a drive, from its start to the face, cut wherever a note or a class decision begins or ends. Rows
-- without anything are there too, so lengths sum to the face position exactly. Cut points are laid in one order with what begins at
-- them; of what has begun, the last one holds the place if it reaches so far.
create or replace function ground_strip(project text, drive text)
returns table (
  number int, from_chainage_m numeric, to_chainage_m numeric, from_m numeric, to_m numeric, length_m numeric, lithology text,
  noted_class_code text, ruling_class_code text, basis text, drive_id int)
language sql stable begin atomic
  with place as (
    select f.drive_id as id, f.start_chainage_m, f.direction, f.face_m from drive_progress f
    where f.project_code = ground_strip.project and f.drive_code = ground_strip.drive
  ), note as materialized (
    select g.id, g.from_m, g.to_m, g.lithology, c.code
    from place join ground_interval g on g.drive_id = place.id and g.from_m < place.face_m join ground_class c on c.id = g.ground_class_id
  ), ruling as materialized (
    select row_number() over (order by r.from_m)::int as id, r.from_m, r.to_m, r.ground_class_code, r.basis
    from place cross join lateral ruling_class_of(place.id) r where r.from_m < place.face_m
  ), cut as (
    select c.m, max(c.note) as note, max(c.ruling) as ruling
    from (
      select 0.000 as m, null::numeric[] as note, null::numeric[] as ruling
      union all select from_m, array[from_m, to_m, id], null from note
      union all select to_m, null, null from note
      union all select from_m, null, array[from_m, to_m, id] from ruling
      union all select to_m, null, null from ruling
    ) c
    group by c.m
  ), tile as (
    select cut.m as from_m, lead(cut.m, 1, place.face_m) over along as to_m, max(cut.note) over along as note, max(cut.ruling) over along as ruling
    from place join cut on cut.m < place.face_m
    window along as (order by cut.m)
  )
  select row_number() over (order by t.from_m)::int, place.start_chainage_m + place.direction * t.from_m,
    place.start_chainage_m + place.direction * t.to_m, t.from_m, t.to_m, t.to_m - t.from_m, n.lithology, n.code, r.ground_class_code, r.basis, place.id
  from place
  cross join tile t
  left join note n on n.id = t.note[3]::int and n.to_m > t.from_m
  left join ruling r on r.id = t.ruling[3]::int and r.to_m > t.from_m
  order by t.from_m;
end;

comment on function ground_strip(text, text) is
  'Lithology and class along a drive from its start to the face, one row a piece, numbered: lithology and class noted by the shifts, ruling class and its basis (agreed, disputed, proposed, noted); null where there is none. Lengths sum to the face position exactly. [m]';
