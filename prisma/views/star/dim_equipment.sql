-- Dimension: equipment.
create or replace view dim_equipment as
select e.id as equipment_id, e.project_id, p.code as project_code, e.code as equipment_code, e.description
from equipment e
join project p on p.id = e.project_id;

comment on view dim_equipment is 'Dimension: one row per piece of equipment.';
