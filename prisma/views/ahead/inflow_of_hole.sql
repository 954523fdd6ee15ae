-- One row per hole of a drive with a noted inflow by the moment asked for: the latest. For a probe hole, from when it was drilled, the larger
-- of the inflow noted with it and the total of its log.
create or replace view inflow_of_hole as
select distinct on (d.id, n.hole)
  p.code as project_code,
  d.code as drive_code,
  n.hole,
  n.inflow_l_per_min,
  n.measured_at,
  n.measurement,
  n.method,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select m.hole, m.flow_l_per_min as inflow_l_per_min, m.measured_at, m.name as measurement, m.method::text as method, m.id
  from inflow_measurement m where m.drive_id = d.id and m.place = 'hole'
  union all
  select h.name, round(greatest(h.water_inflow_l_per_min, log.inflow_l_per_min), 3), h.drilled_at, null, null, 0
  from probe_hole h
  left join (
    select l.probe_hole_id, sum(l.water_inflow_l_per_min) as inflow_l_per_min from probe_log l where l.drive_id = d.id group by l.probe_hole_id
  ) log on log.probe_hole_id = h.id
  where h.drive_id = d.id and h.drilled_at is not null and num_nonnulls(h.water_inflow_l_per_min, log.inflow_l_per_min) > 0
) n
where n.measured_at <= (select moment_asked())
order by d.id, n.hole, n.measured_at desc, n.id desc;

comment on view inflow_of_hole is 'The latest inflow of each hole by the moment asked for. Water of holes is not part of what is cumulated along the drive.';
comment on column inflow_of_hole.inflow_l_per_min is 'Inflow. [l/min]';
comment on column inflow_of_hole.measurement is 'Name of the measurement; null: as noted with the probe hole when it was drilled, or by its log.';
