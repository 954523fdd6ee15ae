-- A drive cut wherever a ground note or a class decision begins or ends: cells that tile it from start to end, numbered along it. Cut
-- points are laid in one order with what begins at them; of what has begun, the last one holds the place if it reaches so far.
create or replace function ground_cell_of(drive_id int)
returns table (n int, from_m numeric, to_m numeric, lithology text, noted_class_code text, ruling_class_code text, basis text,
  is_countersigned boolean, contested_number int, contested_state text, contested_class_code text)
language sql stable begin atomic
  with place as (
    select abs(d.end_chainage_m - d.start_chainage_m) as length_m from drive d where d.id = ground_cell_of.drive_id
  ), note as materialized (
    select g.id, g.from_m, g.to_m, g.lithology, c.code
    from ground_interval g join ground_class c on c.id = g.ground_class_id where g.drive_id = ground_cell_of.drive_id
  ), ruling as materialized (
    select row_number() over (order by r.from_m)::int as id, r.from_m, r.to_m, r.ground_class_code, r.basis, r.is_countersigned, r.contested_number,
      r.contested_state, r.contested_class_code
    from ruling_class_of(ground_cell_of.drive_id) r
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
    select cut.m as from_m, lead(cut.m, 1, place.length_m) over along as to_m, max(cut.note) over along as note, max(cut.ruling) over along as ruling
    from place join cut on cut.m < place.length_m
    window along as (order by cut.m)
  )
  select row_number() over (order by t.from_m)::int, t.from_m, t.to_m, n.lithology, n.code, r.ground_class_code, r.basis, r.is_countersigned, r.contested_number,
    r.contested_state, r.contested_class_code
  from tile t
  left join note n on n.id = t.note[3]::int and n.to_m > t.from_m
  left join ruling r on r.id = t.ruling[3]::int and r.to_m > t.from_m
  order by t.from_m;
end;

comment on function ground_cell_of(int) is
  'Cells that tile a drive, cut where a ground note or a class decision begins or ends: lithology and class noted by the shifts, ruling class, its basis and what contests it (see ruling_class_of); null where there is none. Driven metres. [m]';
