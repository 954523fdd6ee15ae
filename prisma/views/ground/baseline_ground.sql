-- One row per interval of a baseline.
create or replace view baseline_ground as
select
  p.code as project_code,
  d.code as drive_code,
  b.name as baseline,
  chainage_of_driven(d.start_chainage_m, d.direction, i.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, i.to_m) as to_chainage_m,
  i.from_m,
  i.to_m,
  i.to_m - i.from_m as length_m,
  c.code as ground_class_code,
  i.lithology,
  i.water_inflow_l_per_min,
  i.advance_rate_m_per_d,
  b.working_hours_per_day,
  b.id as baseline_id,
  d.id as drive_id
from baseline_interval i
join baseline b on b.id = i.baseline_id
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
join ground_class c on c.id = i.ground_class_id;

comment on view baseline_ground is
  'What each baseline expects, by chainage: class, lithology, water inflow [l/min] and advance rate [m/d]. '
  'The intervals of a baseline cover its drive without gap or overlap. [m]';
comment on column baseline_ground.working_hours_per_day is 'Working hours in a day of the advance rate. [h/d]';
