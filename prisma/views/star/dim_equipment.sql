-- Dimension: equipment.
create or replace view dim_equipment as
select e.id as equipment_id, e.project_id, p.code as project_code, e.code as equipment_code, e.description,
  h.change_number, h.changed_at
from equipment e
join project p on p.id = e.project_id
left join lateral (select * from record_changed where table_name = 'equipment' and record_id = e.id offset 0) h on true;

comment on view dim_equipment is 'Dimension: one row per piece of equipment.';
