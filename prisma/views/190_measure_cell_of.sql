-- A drive cut wherever its ruling class or its lithology changes: cells that tile it from start to end, numbered along it.
create or replace function measure_cell_of(drive_id int)
returns table (n int, from_m numeric, to_m numeric, class_code text, class_basis text, lithology text)
language sql stable begin atomic
  with ruling as materialized (select * from ruling_class_of(measure_cell_of.drive_id)),
  noted as materialized (select g.from_m, g.to_m, g.lithology from ground_interval g where g.drive_id = measure_cell_of.drive_id),
  cut as (
    select m, max(code) as code, max(basis) as basis, max(lithology) as lithology, bool_or(of_class) as of_class, bool_or(of_rock) as of_rock
    from (
      select from_m as m, ground_class_code as code, basis, null as lithology, true as of_class, false as of_rock from ruling
      union all select to_m, null, null, null, true, false from ruling
      union all select from_m, null, null, lithology, false, true from noted
      union all select to_m, null, null, null, false, true from noted
      union all select 0.000, null, null, null, true, true
    ) change
    group by m
  ), carried as ( -- what holds at a cut holds until the next one that says something of it
    select *, count(*) filter (where of_class) over (order by m) as class_run, count(*) filter (where of_rock) over (order by m) as rock_run from cut
  )
  select (row_number() over (order by m))::int, m,
    lead(m, 1, (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = measure_cell_of.drive_id)) over (order by m),
    first_value(code) over (partition by class_run order by m), first_value(basis) over (partition by class_run order by m),
    first_value(lithology) over (partition by rock_run order by m)
  from carried
  where m < (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = measure_cell_of.drive_id)
  order by m;
end;

comment on function measure_cell_of(int) is
  'Cells that tile a drive, cut where its ruling class or its lithology changes. [m]';
