-- Fact: one row per measurement of inflow.
create or replace view fact_inflow as
select
  i.id as inflow_id,
  production_day(i.measured_at, p.time_zone, p.day_start) as production_day,
  i.drive_id,
  d.project_id,
  p.code as project_code,
  d.code as drive_code,
  i.name,
  i.place::text as place,
  i.method::text as method,
  chainage_of_driven(d.start_chainage_m, d.direction, i.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, i.to_m) as to_chainage_m,
  i.from_m,
  i.to_m,
  i.hole,
  i.measured_at,
  i.flow_l_per_min,
  i.service_water_l_per_min,
  c.change_number,
  c.changed_at
from inflow_measurement i
join drive d on d.id = i.drive_id
join project p on p.id = d.project_id
left join lateral (select * from record_changed where table_name = 'inflow_measurement' and record_id = i.id offset 0) c on true;

comment on view fact_inflow is
  'Fact: one row per measurement of inflow. Measurements of different places and moments do not add up: inflow_total and inflow_stretch say what counts.';
comment on column fact_inflow.inflow_id is 'Internal number of the measurement, for joins only.';
comment on column fact_inflow.production_day is 'Production day on which it was measured.';
comment on column fact_inflow.name is 'Name of the measurement.';
comment on column fact_inflow.place is 'Where it was measured.';
comment on column fact_inflow.method is 'How it was measured.';
comment on column fact_inflow.hole is 'Name of the hole; null: not of a hole.';
