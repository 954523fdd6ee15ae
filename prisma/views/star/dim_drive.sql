-- Dimension: drives.
create or replace view dim_drive as
select d.id as drive_id, d.project_id, p.code as project_code, d.code as drive_code, d.name as drive_name, m.code as machine_code, d.start_chainage_m,
  d.end_chainage_m,
  drive_length(d.start_chainage_m, d.end_chainage_m) as length_m, d.direction, d.bored_diameter_m,
  h.change_number, h.changed_at
from drive d
join project p on p.id = d.project_id
left join machine m on m.id = d.machine_id
left join lateral (select * from record_changed where table_name = 'drive' and record_id = d.id offset 0) h on true;

comment on view dim_drive is 'Dimension: one row per drive.';
comment on column dim_drive.drive_name is 'Name of the drive.';
comment on column dim_drive.machine_code is 'Code of its machine; null: none assigned.';
comment on column dim_drive.start_chainage_m is 'Chainage where it starts. [m]';
comment on column dim_drive.end_chainage_m is 'Chainage where it is to end. [m]';
comment on column dim_drive.length_m is 'Length from start to end. [m]';
comment on column dim_drive.direction is '1: driven with rising chainage; -1: against it.';
comment on column dim_drive.bored_diameter_m is 'Bored diameter. [m]';
