-- One row a line of a shift's support list, with what it measures by the dimensions of its item as the catalogue has them
-- now. Each figure is rounded once, to 0.001 of its unit; null: the kind has no such figure, or an input is missing, which
-- missing tells.
--
-- Arc: the line's, clockwise from arc_from_deg to arc_to_deg; of bolts without one, the pattern's. An arc of 0 degrees is a
-- place on the ring and has no area. Length: along the interval; a row of bolts at one chainage stands for one longitudinal
-- spacing of its pattern. Arcs are measured on the bored diameter.
create or replace view support_measure_row as
select
  r.project_code, r.drive_code, r.shift_date, r.shift_name, r.line, r.item_code, r.kind, r.description, r.unit, r.zone,
  r.from_chainage_m, r.to_chainage_m, r.from_m, r.to_m, r.production_day, r.quantity,
  case when r.unit = 'm' then r.quantity
    when r.unit <> 'nr' then null
    when r.kind in ('bolt', 'spile', 'invert_segment', 'drain') then round(r.quantity * i.length_m, 3)
    when r.kind = 'lattice_girder' then round(r.quantity * place.ring_m, 3) end as total_length_m,
  round(surface.area_m2, 3) as area_m2,
  round(surface.gross_area_m2, 3) as gross_area_m2,
  case when r.unit = 'kg' then r.quantity
    when r.unit = 't' then r.quantity * 1000
    when r.kind = 'mesh' then round(surface.gross_area_m2 * i.mass_kg_per_m2, 3)
    when r.unit = 'm2' and r.kind = 'lagging' then round(r.quantity * i.mass_kg_per_m2, 3)
    when r.kind in ('rib', 'lattice_girder') then round(r.quantity * i.mass_kg_per_m * case when r.unit = 'm' then 1 else place.ring_m end, 3)
    when r.unit = 'nr' and r.kind in ('invert_segment', 'lagging') then round(r.quantity * i.mass_kg, 3)
  end as mass_kg,
  round(sprayed.theoretical_m3, 3) as theoretical_volume_m3,
  round(sprayed.theoretical_m3 * (1 + i.overbreak_percent / 100) / (1 - i.rebound_percent / 100), 3) as expected_volume_m3,
  sprayed.delivered_m3 as delivered_volume_m3,
  case when r.unit = 'm3' and r.kind in ('cast_concrete', 'cavity_fill') then r.quantity
    else round(sprayed.delivered_m3 * (1 - i.rebound_percent / 100), 3) end as placed_volume_m3,
  array_remove(case r.kind
    when 'bolt' then array[
      case when i.length_m is null then 'length of the item' end,
      case when place.arc_deg is null then 'arc of the line or of the pattern' end,
      case when place.length_m is null then 'interval of the line or spacing of the pattern' end]
    when 'mesh' then array[
      case when r.unit = 'm2' and i.lap_percent is null then 'lap allowance of the item' end,
      case when r.unit = 'm2' and i.mass_kg_per_m2 is null then 'mass by area of the item' end]
    when 'rib' then array[
      case when r.unit in ('nr', 'm') and i.mass_kg_per_m is null then 'mass by length of the item' end,
      case when r.unit = 'nr' and place.ring_m is null then 'length or centre-line diameter of the item' end]
    when 'lattice_girder' then array[
      case when r.unit in ('nr', 'm') and i.mass_kg_per_m is null then 'mass by length of the item' end,
      case when r.unit = 'nr' and place.ring_m is null then 'length or centre-line diameter of the item' end]
    when 'sprayed_concrete' then array[
      case when r.unit = 'm3' and place.arc_deg is null then 'arc of the line' end,
      case when r.unit = 'm3' and place.length_m is null then 'interval of the line' end,
      case when sprayed.thickness_mm is null then 'thickness of the line or the item' end,
      case when sprayed.delivered_m3 is null then 'delivered volume of the line' end,
      case when i.rebound_percent is null then 'rebound of the item' end,
      case when i.overbreak_percent is null then 'overbreak allowance of the item' end]
    when 'spile' then array[case when r.unit = 'nr' and i.length_m is null then 'length of the item' end]
    when 'drain' then array[case when r.unit = 'nr' and i.length_m is null then 'length of the item' end]
    when 'invert_segment' then array[
      case when r.unit = 'nr' and i.length_m is null then 'length of the item' end,
      case when r.unit = 'nr' and i.mass_kg is null then 'mass of the item' end]
  end, null) as missing,
  r.drive_id, r.shift_id, r.support_installed_id, r.pieces, r.positions_m
from support_row r
join support_item i on i.id = r.support_item_id
join drive d on d.id = r.drive_id
cross join lateral (
  select
    case when r.arc_from_deg is not null
        then nullif(r.arc_to_deg - r.arc_from_deg + case when r.arc_to_deg < r.arc_from_deg then 360 else 0 end, 0)
      when r.kind = 'bolt' then i.pattern_arc_deg end as arc_deg,
    case when r.to_m > r.from_m then r.to_m - r.from_m when r.kind = 'bolt' then i.longitudinal_spacing_m end as length_m,
    coalesce(i.length_m, 3.141592653589793 * i.centre_line_diameter_m) as ring_m
) place
cross join lateral (
  select case
    when r.unit = 'm2' then r.quantity
    when r.kind in ('bolt', 'sprayed_concrete') then 3.141592653589793 * d.bored_diameter_m * place.arc_deg / 360 * place.length_m
  end as area_m2
) flat
cross join lateral (
  select flat.area_m2, case when r.kind = 'mesh' then flat.area_m2 * (1 + i.lap_percent / 100) end as gross_area_m2
) surface
cross join lateral (
  select
    case when r.kind = 'sprayed_concrete' then coalesce(r.thickness_mm, i.theoretical_thickness_mm) end as thickness_mm,
    case when r.kind = 'sprayed_concrete' then flat.area_m2 * coalesce(r.thickness_mm, i.theoretical_thickness_mm) / 1000 end as theoretical_m3,
    case when r.kind in ('sprayed_concrete', 'cast_concrete', 'cavity_fill') then r.delivered_volume_m3 end as delivered_m3
) sprayed;

comment on view support_measure_row is
  'One row a line of a shift''s support list with what it measures by the dimensions of its item. Quantities, not a judgement of the support: that is for the designer and the local code.';
comment on column support_measure_row.total_length_m is 'What is counted in m; of what is counted in nr number times length: bolts, spiles, drains, lattice girders along their centre line, invert segments along the drive. [m]';
comment on column support_measure_row.area_m2 is 'Bolts: arc times length that they support; mesh: net, laps not counted; sprayed concrete: sprayed; lagging. [m2]';
comment on column support_measure_row.gross_area_m2 is 'Mesh with its laps. [m2]';
comment on column support_measure_row.mass_kg is 'What is counted in kg or t; mesh with its laps, ribs, lattice girders, lagging, invert segments by the mass of the item. [kg]';
comment on column support_measure_row.theoretical_volume_m3 is 'Sprayed concrete: area times thickness, the line''s, else the item''s. [m3]';
comment on column support_measure_row.expected_volume_m3 is 'What that should take by the item: theoretical · (1 + overbreak and roughness) / (1 − rebound). [m3]';
comment on column support_measure_row.delivered_volume_m3 is 'By the delivery tickets. [m3]';
comment on column support_measure_row.placed_volume_m3 is 'Sprayed concrete: delivered less the rebound that the item assumes; cast concrete and cavity fill counted in m3: what was put in. [m3]';
comment on column support_measure_row.pieces is 'Number of its pieces, of a counted item; null: measured along its length.';
comment on column support_measure_row.positions_m is 'Where its pieces stand, when posted one by one; null: evenly along its interval. [driven m]';
comment on column support_measure_row.missing is 'Inputs without which a figure of its kind has no answer; empty: none.';
