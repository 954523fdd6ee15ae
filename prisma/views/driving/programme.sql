-- One row per drive and programme: its start and end, in place and time.
create or replace view programme as
select
  p.code as project_code, d.code as drive_code, r.programme, count(*)::int as point_count, min(r.planned_day) as first_day, max(r.planned_day) as last_day,
  chainage_of_driven(d.start_chainage_m, d.direction, min(r.planned_m)) as from_chainage_m,
    chainage_of_driven(d.start_chainage_m, d.direction, max(r.planned_m)) as to_chainage_m, d.id as drive_id
from programme_point r
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id
group by p.code, d.code, r.programme, d.start_chainage_m, d.direction, d.id;

comment on view programme is
  'One row per drive and programme: its ends. Table programme_point has its points: the planned face position at the end of a production day.';
comment on column programme.point_count is 'Number of its points.';
comment on column programme.first_day is 'Production day of its first point.';
comment on column programme.last_day is 'Production day of its last point.';
comment on column programme.from_chainage_m is 'Where it begins. [m]';
comment on column programme.to_chainage_m is 'Where it ends. [m]';
