-- One row per stretch of a drive governed by one measurement, and one per stretch behind the face that none covers, along the drive. Of the
-- measurements that cover a place by the moment asked for, the latest governs; of two at the same time, the one entered last. The rest of an
-- older one keeps its share by length. The ends of all measurements divide the drive into numbered pieces; a measurement has those between its own.
create or replace function inflow_stretch_of(drive_id int)
returns table (
  from_m numeric, to_m numeric, measurement_id int, measurement text, method text, measured_at timestamptz, measured_from_m numeric, measured_to_m numeric,
  flow_l_per_min numeric, inflow_l_per_min numeric, cumulated_l_per_min numeric, superseded_count int, overlapped text[])
language sql stable begin atomic
  with face as materialized (
    select coalesce(max(b.to_m), 0.000) as face_m from boring b where b.drive_id = inflow_stretch_of.drive_id
  ), measured as materialized (
    select i.* from inflow_measurement i
    where i.drive_id = inflow_stretch_of.drive_id and i.place = 'interval' and i.measured_at <= (select moment_asked())
  ), bound as (
    select 0.000::numeric as m union select face_m from face union select i.from_m from measured i union select i.to_m from measured i
  ), piece as materialized (
    select row_number() over (order by m) as number, m as from_m, lead(m) over (order by m) as to_m from bound
  ), cover as materialized (
    select within as number, i.name, (i.from_m, i.to_m) is distinct from (first_value(i.from_m) over latest, first_value(i.to_m) over latest) as is_other,
      first_value(i.id) over latest as governing
    from measured i
    join piece low on low.from_m = i.from_m
    join piece high on high.from_m = i.to_m
    cross join lateral generate_series(low.number, high.number - 1) within
    window latest as (partition by within order by i.measured_at desc, i.id desc)
  ), governed as (
    select p.number, p.from_m, p.to_m, c.governing, p.number - row_number() over (partition by c.governing order by p.number) as island
    from piece p
    left join (select distinct number, governing from cover) c on c.number = p.number
    where c.governing is not null or (p.to_m is not null and p.from_m < (select face_m from face))
  ), stretch as (
    select min(g.from_m) as from_m, max(g.to_m) as to_m, g.governing as measurement_id, greatest(count(distinct c.name) - 1, 0)::int as superseded_count,
      coalesce(array_agg(distinct c.name) filter (where c.is_other), '{}') as overlapped
    from governed g
    left join cover c on c.number = g.number
    group by g.governing, g.island
  )
  select s.from_m, s.to_m, s.measurement_id, i.name, i.method::text, i.measured_at, i.from_m, i.to_m, i.flow_l_per_min, share.inflow_l_per_min,
    sum(coalesce(share.inflow_l_per_min, 0.000)) over (order by s.from_m), s.superseded_count, s.overlapped
  from stretch s
  left join measured i on i.id = s.measurement_id
  cross join lateral (select apportion(i.flow_l_per_min, i.from_m, i.to_m, s.from_m, s.to_m) as inflow_l_per_min) share;
end;

comment on function inflow_stretch_of(int) is
  'A drive by stretches in driven metres [m] that one measurement of inflow governs, the latest by the moment asked for, with its share [l/min] and what is '
  'cumulated from the start of the drive [l/min]; no measurement: a gap behind the face.';
