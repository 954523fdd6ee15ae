-- One row per drive and piece of equipment; null: none named.
create or replace view ledger_by_equipment as
select p.code as project_code, d.code as drive_code, l.key as equipment_code, q.description,
  l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_by(d.id, 'equipment', 'all', null, null, null) l
left join equipment q on q.project_id = d.project_id and q.code = l.key;

comment on view ledger_by_equipment is 'Hours of a drive by the equipment that they concern; null: none named. [h]';
