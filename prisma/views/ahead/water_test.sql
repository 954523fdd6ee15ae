-- One row per water test, with the results of its steps.
create or replace view water_test as
select
  p.code as project_code,
  d.code as drive_code,
  t.name,
  t.hole,
  chainage_of_driven(d.start_chainage_m, d.direction, t.collar_m) as collar_chainage_m,
  t.from_depth_m,
  t.to_depth_m,
  t.to_depth_m - t.from_depth_m as section_m,
  t.hole_diameter_mm,
  t.static_bar,
  t.groundwater_bar,
  t.tested_at,
  t.tested_by,
  t.remark,
  t.flow_pattern::text as flow_pattern,
  t.representative_lu,
  t.lugeon_class::text as lugeon_class,
  t.moye_m_per_s,
  t.thiem_m_per_s,
  t.id as water_test_id,
  t.drive_id
from lugeon_test t
join drive d on d.id = t.drive_id
join project p on p.id = d.project_id;

comment on view water_test is
  'One row per water test in a section of a hole. Flow pattern, representative value, class and conductivity are suggestions. Decision support.';
comment on column water_test.section_m is 'Length of the section. [m]';
comment on column water_test.static_bar is 'Pressure of the water between gauge and section; negative where the section lies higher. [bar]';
comment on column water_test.groundwater_bar is 'Pressure of the groundwater at the section. [bar]';
comment on column water_test.flow_pattern is 'Suggested by the Lugeon values of five steps; null: none.';
comment on column water_test.representative_lu is 'Representative Lugeon value of the test by its pattern; without a pattern the highest. [Lu]';
comment on column water_test.lugeon_class is 'Class of hydraulic conductivity by that value.';
comment on column water_test.moye_m_per_s is 'Hydraulic conductivity at that value by Moye; null: the diameter of the hole is not given. [m/s]';
comment on column water_test.thiem_m_per_s is 'The same by the form of Thiem. [m/s]';
comment on column water_test.collar_chainage_m is 'Chainage of the collar of the hole; null: not given. [m]';
comment on column water_test.from_depth_m is 'Depth at which the section begins. [m]';
comment on column water_test.to_depth_m is 'Depth at which it ends. [m]';
comment on column water_test.hole_diameter_mm is 'Diameter of the hole; null: not given. [mm]';
comment on column water_test.tested_at is 'When it was tested.';
comment on column water_test.tested_by is 'Who tested it.';
comment on column water_test.water_test_id is 'Identifies the test within the database.';
