-- support_measure_in_intervals at 10 m, for clients that read views only.
create or replace view support_measure_by_interval as
select p.code as project_code, d.code as drive_code, m.interval_number, m.from_chainage_m, m.to_chainage_m, m.item_code, m.kind, m.description, m.unit,
  m.zone, m.quantity, m.row_count, m.incomplete_count, m.missing, m.total_length_m, m.area_m2, m.number_per_m2, m.gross_area_m2, m.mass_kg,
  m.theoretical_volume_m3, m.expected_volume_m3, m.delivered_volume_m3, m.placed_volume_m3, m.compared_theoretical_volume_m3,
  m.compared_delivered_volume_m3, m.volume_factor, m.mean_thickness_mm, d.id as drive_id, m.from_m, m.to_m
from drive d
join project p on p.id = d.project_id
cross join lateral support_measure_in_intervals(p.code, d.code, 10) m;

comment on view support_measure_by_interval is
  'What the support of a drive measures by 10 m of chainage, item and zone; other lengths by support_measure_in_intervals. Figures as in support_measure.';
