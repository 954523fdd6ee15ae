-- reliability_by over the whole record: one row per piece of equipment, or a code where breakdowns name none.
create or replace view reliability_by_equipment as
select p.code as project_code, d.code as drive_code, r.equipment_code, r.code, r.operating_hours, r.repair_hours, r.failure_count, r.mtbf_hours,
  r.mttr_hours, r.availability, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral reliability_by(d.id, null, null) r
where not r.whole;
comment on view reliability_by_equipment is 'The same by piece of equipment, or by code where breakdowns name none. [h]';
comment on column reliability_by_equipment.operating_hours is
  'Time of the classes during which the equipment is in use; of a code, boring and regripping of the drive. [h]';
comment on column reliability_by_equipment.code is 'Code of the breakdowns that name no equipment; null where it is named.';
