-- One row a stretch of a drive that one measurement governs, along the drive; and one a stretch behind the face that none covers. Of the
-- measurements that cover a place by the moment asked for, the latest governs; of two of one time, the one entered last. What is
-- left of an older one keeps its share by length. The bounds of all measurements cut the drive into pieces; a measurement finds its own by halving.
create or replace view inflow_stretch as
select
  p.code as project_code,
  d.code as drive_code,
  d.start_chainage_m + d.direction * s.from_m as from_chainage_m,
  d.start_chainage_m + d.direction * s.to_m as to_chainage_m,
  s.to_m - s.from_m as length_m,
  s.measurement_id is null as is_gap,
  m.name as measurement,
  m.method::text as method,
  m.measured_at,
  share.inflow_l_per_min,
  sum(coalesce(share.inflow_l_per_min, 0.000)) over (partition by d.id order by s.from_m) as cumulated_l_per_min,
  s.superseded_count,
  s.overlapped,
  s.from_m,
  s.to_m,
  m.from_m as measured_from_m,
  m.to_m as measured_to_m,
  m.flow_l_per_min,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select coalesce(max(to_m), 0.000) as face_m from boring b where b.drive_id = d.id
) face
cross join lateral (
  with measured as materialized (
    select id, name, from_m, to_m, measured_at from inflow_measurement
    where inflow_measurement.drive_id = d.id and place = 'interval' and measured_at <= (select moment_asked())
  ), bounds as materialized (
    select array_agg(m order by m) as at from (
      select 0.000::numeric as m union select face.face_m union select from_m from measured union select to_m from measured) bound
  ), cover as materialized (
    select piece, c.name, (c.from_m, c.to_m) is distinct from (first_value(c.from_m) over latest, first_value(c.to_m) over latest) as is_other,
      first_value(c.id) over latest as governing
    from bounds
    cross join measured c
    cross join lateral generate_series(width_bucket(c.from_m, bounds.at), width_bucket(c.to_m, bounds.at) - 1) piece
    window latest as (partition by piece order by c.measured_at desc, c.id desc)
  ), governed as (
    select piece, governing, piece - row_number() over (partition by governing order by piece) as island
    from bounds
    cross join lateral generate_series(1, cardinality(bounds.at) - 1) piece
    left join (select distinct piece, governing from cover) c using (piece)
    where governing is not null or bounds.at[piece] < face.face_m
  )
  select min(bounds.at[g.piece]) as from_m, max(bounds.at[g.piece + 1]) as to_m, g.governing as measurement_id,
    greatest(count(distinct c.name) - 1, 0)::int as superseded_count, coalesce(array_agg(distinct c.name) filter (where c.is_other), '{}') as overlapped
  from governed g
  cross join bounds
  left join cover c on c.piece = g.piece
  group by g.governing, g.island
) s
left join inflow_measurement m on m.id = s.measurement_id
cross join lateral (
  select apportion(m.flow_l_per_min, m.from_m, m.to_m, s.from_m, s.to_m) as inflow_l_per_min
) share;

comment on view inflow_stretch is
  'A drive by stretches that one measurement of inflow governs, the latest by the moment asked for, with the inflow cumulated from the start of the drive; stretches behind the face that none covers are gaps. Decision support.';
comment on column inflow_stretch.is_gap is 'No measurement covers it: its inflow is not known, and counts as nothing in what is cumulated.';
comment on column inflow_stretch.inflow_l_per_min is 'Share of the measurement by length; null: a gap. [l/min]';
comment on column inflow_stretch.cumulated_l_per_min is 'From the start of the drive to the end of the stretch. [l/min]';
comment on column inflow_stretch.superseded_count is 'How many earlier measurements touch it.';
comment on column inflow_stretch.overlapped is 'Of those, the names of the ones with other ends: they overlap the governing one.';
comment on column inflow_stretch.measured_from_m is 'Where the governing measurement begins, in driven metres. [m]';
comment on column inflow_stretch.measured_to_m is 'Where it ends. [m]';
comment on column inflow_stretch.flow_l_per_min is 'What it measured in all. [l/min]';
