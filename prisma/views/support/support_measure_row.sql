-- One row per line of a shift's support list, described, with what it measures: support_measured.
create or replace view support_measure_row as
select
  r.project_code, r.drive_code, r.shift_date, r.shift_name, r.line, r.item_code, r.kind, r.description, r.unit, r.zone,
  r.from_chainage_m, r.to_chainage_m, r.from_m, r.to_m, r.production_day, r.quantity, m.total_length_m, m.area_m2, m.gross_area_m2, m.mass_kg,
  m.theoretical_volume_m3, m.expected_volume_m3, m.delivered_volume_m3, m.placed_volume_m3, support_inputs(m.missing) as missing,
  r.drive_id, r.shift_id, r.support_installed_id, r.pieces, r.positions_m
from support_row r
join support_measured m on m.drive_id = r.drive_id and m.support_installed_id = r.support_installed_id;

comment on view support_measure_row is
  'One row per line of a shift''s support list with what it measures by the dimensions of its item. Quantities, not a judgement of the support: that is for '
  'the designer and the local code.';
comment on column support_measure_row.total_length_m is
  'What is counted in m; of what is counted in nr number times length: bolts, spiles, drains, lattice girders along their centre line, invert segments along '
  'the drive. [m]';
comment on column support_measure_row.area_m2 is
  'Bolts: arc times length that they support; mesh: net, laps not counted; sprayed concrete: sprayed; lagging. [m2]';
comment on column support_measure_row.gross_area_m2 is 'Mesh with its laps. [m2]';
comment on column support_measure_row.mass_kg is
  'What is counted in kg or t; mesh with its laps, ribs, lattice girders, lagging, invert segments by the mass of the item. [kg]';
comment on column support_measure_row.theoretical_volume_m3 is 'Sprayed concrete: area times thickness, the line''s, else the item''s. [m3]';
comment on column support_measure_row.expected_volume_m3 is
  'What that should take by the item: theoretical · (1 + overbreak and roughness) / (1 − rebound). [m3]';
comment on column support_measure_row.delivered_volume_m3 is 'By the delivery tickets. [m3]';
comment on column support_measure_row.placed_volume_m3 is
  'Sprayed concrete: delivered less the rebound that the item assumes; cast concrete and cavity fill counted in m3: what was put in. [m3]';
comment on column support_measure_row.pieces is 'Number of its pieces, of a counted item; null: measured along its length.';
comment on column support_measure_row.positions_m is 'Positions of its pieces, if posted individually; null: evenly along its interval. [driven m]';
comment on column support_measure_row.missing is 'Inputs without which a figure of its kind has no answer; empty: none.';
