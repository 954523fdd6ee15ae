-- Dimension: working zones.
create or replace view dim_zone as
select z.id as zone_id, z.project_id, p.code as project_code, z.code as zone, z.name as zone_name, z.from_behind_m, z.to_behind_m,
  h.change_number, h.changed_at
from working_zone z
join project p on p.id = z.project_id
left join lateral (select * from record_changed where table_name = 'working_zone' and record_id = z.id offset 0) h on true;

comment on view dim_zone is 'Dimension: one row per working zone, in which support is installed.';
comment on column dim_zone.zone is 'Code of the zone.';
comment on column dim_zone.zone_name is 'Name of the zone.';
comment on column dim_zone.from_behind_m is 'Where it begins behind the face; null: not given. [m]';
comment on column dim_zone.to_behind_m is 'Where it ends behind the face; null: not given. [m]';
