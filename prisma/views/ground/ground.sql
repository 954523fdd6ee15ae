-- One row per ground interval, as noted by the shifts.
create or replace view ground as
select
  p.code as project_code,
  d.code as drive_code,
  chainage_of_driven(d.start_chainage_m, d.direction, g.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, g.to_m) as to_chainage_m,
  g.from_m,
  g.to_m,
  g.to_m - g.from_m as length_m,
  c.code as ground_class_code,
  g.lithology,
  g.remark,
  s.shift_date,
  n.name as shift_name,
  g.drive_id,
  g.shift_id
from ground_interval g
join drive d on d.id = g.drive_id
join project p on p.id = d.project_id
join ground_class c on c.id = g.ground_class_id
join shift s on s.id = g.shift_id
join calendar_shift n on n.id = s.calendar_shift_id;

comment on view ground is 'One row per ground interval: class, lithology and remark by chainage. [m]';
