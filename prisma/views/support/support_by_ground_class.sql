-- One row per drive, ground class, item and zone.
create or replace view support_by_ground_class as
select
  p.code as project_code, d.code as drive_code, s.ground_class_code, s.item_code, s.kind, s.description, s.unit, s.zone,
  s.quantity, s.row_count, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral support_in_ground_classes(d.id) s;

comment on view support_by_ground_class is
  'Support installed by the ground class noted where it is, item and zone; null class: none noted. Sums to support_total.';
