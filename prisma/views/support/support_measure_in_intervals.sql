-- One row per interval of the given length that contains support, item and zone. Intervals lie on round chainages and are half
-- open along the drive; what lies at the end of the drive belongs to the last one. They are numbered from 0 at the drive's
-- start; first_number and last_number, if given, limit the range.
create or replace function support_measure_in_intervals(project text, drive text, interval_m numeric, first_number int default null,
  last_number int default null)
returns table (project_code text, drive_code text, interval_number int, from_chainage_m numeric, to_chainage_m numeric, item_code text,
  kind text, description text, unit text, zone text, quantity numeric, row_count int, incomplete_count int, missing text[],
  total_length_m numeric, area_m2 numeric, number_per_m2 numeric, gross_area_m2 numeric, mass_kg numeric, theoretical_volume_m3 numeric,
  expected_volume_m3 numeric, delivered_volume_m3 numeric, placed_volume_m3 numeric, compared_theoretical_volume_m3 numeric,
  compared_delivered_volume_m3 numeric, volume_factor numeric, mean_thickness_mm numeric, drive_id int, from_m numeric, to_m numeric)
language sql stable begin atomic
  select p.code, d.code, m.key::int,
    chainage_of_driven(d.start_chainage_m, d.direction, bound.from_m), chainage_of_driven(d.start_chainage_m, d.direction, bound.to_m),
    m.item_code, m.kind, m.description, m.unit, m.zone, m.quantity, m.row_count, m.incomplete_count, m.missing, m.total_length_m,
  m.area_m2, m.number_per_m2, m.gross_area_m2, m.mass_kg, m.theoretical_volume_m3, m.expected_volume_m3, m.delivered_volume_m3,
  m.placed_volume_m3, m.compared_theoretical_volume_m3, m.compared_delivered_volume_m3, m.volume_factor, m.mean_thickness_mm, d.id, bound.from_m, bound.to_m
  from drive d
  join project p on p.id = d.project_id
  cross join lateral (select d.direction * d.start_chainage_m - interval_holding(d.direction * d.start_chainage_m, interval_m) * interval_m as m) origin
  cross join lateral support_measure_by(d.id, 'interval', interval_m, first_number, last_number) m
  cross join lateral (
    select interval_from(m.key::numeric, interval_m, origin.m) as from_m,
      interval_to(m.key::numeric, interval_m, origin.m, drive_length(d.start_chainage_m, d.end_chainage_m)) as to_m
  ) bound
  where p.code = project and d.code = support_measure_in_intervals.drive;
end;

comment on function support_measure_in_intervals(text, text, numeric, int, int) is
  'What the support of a drive measures by intervals of the given length [m] on round chainages, item and zone; figures as in view support_measure, to which '
  'they sum.';
