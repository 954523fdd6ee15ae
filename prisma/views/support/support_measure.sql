-- One row per drive, item and zone.
create or replace view support_measure as
select
  p.code as project_code, d.code as drive_code, m.item_code, m.kind, m.description, m.unit, m.zone, m.quantity, m.row_count, m.incomplete_count, m.missing,
    m.total_length_m,
  m.area_m2, m.number_per_m2, m.gross_area_m2, m.mass_kg, m.theoretical_volume_m3, m.expected_volume_m3, m.delivered_volume_m3,
  m.placed_volume_m3, m.compared_theoretical_volume_m3, m.compared_delivered_volume_m3, m.volume_factor, m.mean_thickness_mm, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral support_measure_by(d.id, 'total', null, null, null) m;

comment on view support_measure is
  'What the support of a drive measures by item and zone. Quantities, not a judgement of the support: that is for the designer and the local code.';
comment on column support_measure.quantity is 'Quantity in the item''s unit, as support_total has it.';
comment on column support_measure.incomplete_count is 'Lines of row_count that lack an input of one of their figures: such a figure sums the other lines only.';
comment on column support_measure.missing is 'The inputs that those lines lack.';
comment on column support_measure.total_length_m is 'Bolts, spiles: number times length; invert segments: length along the drive. [m]';
comment on column support_measure.area_m2 is 'Bolts: supported, counted again where lines overlap; mesh: net; sprayed concrete: sprayed. [m2]';
comment on column support_measure.number_per_m2 is 'Bolts over the area that they support, of the lines that have one. [1/m2]';
comment on column support_measure.gross_area_m2 is 'Mesh with its laps. [m2]';
comment on column support_measure.mass_kg is 'Mesh with its laps, ribs, invert segments. [kg]';
comment on column support_measure.theoretical_volume_m3 is 'Sprayed concrete: area times thickness. [m3]';
comment on column support_measure.expected_volume_m3 is 'What that should take by the item''s overbreak and rebound. [m3]';
comment on column support_measure.delivered_volume_m3 is 'By the delivery tickets. [m3]';
comment on column support_measure.placed_volume_m3 is 'Delivered less the rebound that the item assumes. [m3]';
comment on column support_measure.compared_theoretical_volume_m3 is 'Theoretical volume of the lines that have a delivered one too. [m3]';
comment on column support_measure.compared_delivered_volume_m3 is 'Their delivered volume. [m3]';
comment on column support_measure.volume_factor is 'Factor of overbreak and rebound: delivered over theoretical, of these lines, to 0.0001.';
comment on column support_measure.mean_thickness_mm is 'Placed volume over area, of the lines that have both, to 0.1. [mm]';
