-- One row per measurement of inflow, as read.
create or replace view inflow as
select
  p.code as project_code,
  d.code as drive_code,
  m.name,
  m.place::text as place,
  chainage_of_driven(d.start_chainage_m, d.direction, m.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, m.to_m) as to_chainage_m,
  m.hole,
  m.method::text as method,
  m.measured_at,
  m.flow_l_per_min,
  m.service_water_l_per_min,
  m.flow_l_per_min - coalesce(m.service_water_l_per_min, 0) as inflow_l_per_min,
  m.measured_by,
  m.remark,
  m.from_m,
  m.to_m,
  m.drive_id
from inflow_measurement m
join drive d on d.id = m.drive_id
join project p on p.id = d.project_id;

comment on view inflow is 'One row per measurement of the water that flows into a drive: over an interval, from a hole, or in all at the portal.';
comment on column inflow.flow_l_per_min is 'As read. [l/min]';
comment on column inflow.service_water_l_per_min is 'Of a reading at the portal, water that the works brought in; null: none. [l/min]';
comment on column inflow.inflow_l_per_min is 'Reading without service water. [l/min]';
