-- One row per step of a water test.
create or replace view water_test_step as
select
  p.code as project_code,
  d.code as drive_code,
  t.name,
  s.number,
  s.gauge_bar,
  s.friction_bar,
  s.flow_l_per_min,
  s.duration_min,
  s.net_bar,
  s.lugeon,
  t.id as water_test_id,
  t.drive_id
from lugeon_test t
cross join lateral ( -- test by test, by the index
  select * from lugeon_step where lugeon_step.lugeon_test_id = t.id offset 0
) s
join drive d on d.id = t.drive_id
join project p on p.id = d.project_id;

comment on view water_test_step is 'One row per step of a water test, at one pressure.';
comment on column water_test_step.gauge_bar is 'Reading of the gauge. [bar]';
comment on column water_test_step.friction_bar is 'Lost between gauge and section. [bar]';
comment on column water_test_step.flow_l_per_min is 'Flow into the section. [l/min]';
comment on column water_test_step.net_bar is 'Pressure at the section: gauge + static column - friction - groundwater. [bar]';
comment on column water_test_step.lugeon is 'Lugeon value of the step. [Lu]';
comment on column water_test_step.number is 'Place of the step in the test, from 1.';
comment on column water_test_step.duration_min is 'How long the step lasted. [min]';
comment on column water_test_step.water_test_id is 'Identifies the test within the database.';
