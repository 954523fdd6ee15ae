-- One row per drive, production day, item and zone.
create or replace view support_measure_by_day as
select
  p.code as project_code, d.code as drive_code, m.key::date as production_day,
  m.item_code, m.kind, m.description, m.unit, m.zone, m.quantity, m.row_count, m.incomplete_count, m.missing, m.total_length_m,
  m.area_m2, m.number_per_m2, m.gross_area_m2, m.mass_kg, m.theoretical_volume_m3, m.expected_volume_m3, m.delivered_volume_m3,
  m.placed_volume_m3, m.compared_theoretical_volume_m3, m.compared_delivered_volume_m3, m.volume_factor, m.mean_thickness_mm, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral support_measure_by(d.id, 'day', null, null, null) m;

comment on view support_measure_by_day is
  'What the support of a drive measures by production day, item and zone; columns as in support_measure, to which the days sum.';
