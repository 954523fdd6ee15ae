-- One row per drive with such limits: those in force on the local day of the moment asked for.
create or replace view water_limit_in_force as
select distinct on (l.drive_id)
  l.drive_id,
  l.valid_from,
  l.per_100m_l_per_min,
  l.per_hole_l_per_min,
  l.total_l_per_min,
  l.pumping_l_per_min
from water_limit l
join project p on p.id = l.project_id
where l.valid_from <= timezone(p.time_zone, (select moment_asked()))::date
order by l.drive_id, l.valid_from desc;

comment on view water_limit_in_force is 'Inflow that triggers action, and installed pumping capacity, as in force on the day asked for; null: none.';
comment on column water_limit_in_force.per_100m_l_per_min is 'Trigger of inflow per 100 m of drive. [l/min]';
comment on column water_limit_in_force.per_hole_l_per_min is 'Trigger of inflow from one hole. [l/min]';
comment on column water_limit_in_force.total_l_per_min is 'Trigger of inflow of the drive in all. [l/min]';
comment on column water_limit_in_force.pumping_l_per_min is 'Installed pumping capacity. [l/min]';
