-- What each line of a shift's support list measures: one row per line.
create or replace view support_measured as
select
  r.id as support_installed_id, r.drive_id, r.shift_id, r.support_item_id, r.zone, r.from_m, r.to_m, r.span, r.quantity, r.installed_at,
  case when r.unit = 'm' then r.quantity
    when r.unit <> 'nr' then null
    when i.kind in ('bolt', 'spile', 'invert_segment', 'drain') then round(r.quantity * i.length_m, 3)
    when i.kind = 'lattice_girder' then round(r.quantity * place.ring_m, 3) end as total_length_m,
  round(surface.area_m2, 3) as area_m2,
  round(surface.gross_area_m2, 3) as gross_area_m2,
  case when r.unit = 'kg' then r.quantity
    when r.unit = 't' then r.quantity * 1000
    when i.kind = 'mesh' then round(surface.gross_area_m2 * i.mass_kg_per_m2, 3)
    when r.unit = 'm2' and i.kind = 'lagging' then round(r.quantity * i.mass_kg_per_m2, 3)
    when i.kind in ('rib', 'lattice_girder') then round(r.quantity * i.mass_kg_per_m * case when r.unit = 'm' then 1 else place.ring_m end, 3)
    when r.unit = 'nr' and i.kind in ('invert_segment', 'lagging') then round(r.quantity * i.mass_kg, 3)
  end as mass_kg,
  round(sprayed.theoretical_m3, 3) as theoretical_volume_m3,
  round(sprayed.theoretical_m3 * (1 + i.overbreak_percent / 100) / (1 - i.rebound_percent / 100), 3) as expected_volume_m3,
  sprayed.delivered_m3 as delivered_volume_m3,
  case when r.unit = 'm3' and i.kind in ('cast_concrete', 'cavity_fill') then r.quantity
    else round(sprayed.delivered_m3 * (1 - i.rebound_percent / 100), 3) end as placed_volume_m3,
  case i.kind -- the missing inputs, by the numbers of support_inputs
    when 'bolt' then (i.length_m is null)::int + 2 * (place.arc_deg is null)::int + 4 * (place.length_m is null)::int
    when 'mesh' then case when r.unit = 'm2' then 8 * (i.lap_percent is null)::int + 16 * (i.mass_kg_per_m2 is null)::int else 0 end
    when 'sprayed_concrete' then case when r.unit = 'm3' then 128 * (place.arc_deg is null)::int + 256 * (place.length_m is null)::int else 0 end
      + 512 * (sprayed.thickness_mm is null)::int + 1024 * (sprayed.delivered_m3 is null)::int + 2048 * (i.rebound_percent is null)::int
      + 4096 * (i.overbreak_percent is null)::int
    else case
      when i.kind in ('rib', 'lattice_girder') then case when r.unit in ('nr', 'm') then 32 * (i.mass_kg_per_m is null)::int else 0 end
        + case when r.unit = 'nr' then 64 * (place.ring_m is null)::int else 0 end
      when r.unit = 'nr' and i.kind in ('spile', 'drain') then (i.length_m is null)::int
      when r.unit = 'nr' and i.kind = 'invert_segment' then (i.length_m is null)::int + 8192 * (i.mass_kg is null)::int
      else 0 end
  end as missing,
  case when r.unit = 'nr' then r.quantity end as pieces, r.positions_m
from support_installed r
join support_item i on i.id = r.support_item_id
join drive d on d.id = r.drive_id
cross join lateral (
  select
    case when r.arc_from_deg is not null
        then nullif(arc_width(r.arc_from_deg, r.arc_to_deg), 0)
      when i.kind = 'bolt' then i.pattern_arc_deg end as arc_deg,
    case when r.to_m > r.from_m then r.to_m - r.from_m when i.kind = 'bolt' then i.longitudinal_spacing_m end as length_m,
    coalesce(i.length_m, circumference(i.centre_line_diameter_m)) as ring_m
) place
cross join lateral (
  select case
    when r.unit = 'm2' then r.quantity
    when i.kind in ('bolt', 'sprayed_concrete') then circumference(d.bored_diameter_m) * place.arc_deg / 360 * place.length_m
  end as area_m2
) flat
cross join lateral (
  select flat.area_m2, case when i.kind = 'mesh' then flat.area_m2 * (1 + i.lap_percent / 100) end as gross_area_m2
) surface
cross join lateral (
  select
    case when i.kind = 'sprayed_concrete' then coalesce(r.thickness_mm, i.theoretical_thickness_mm) end as thickness_mm,
    case when i.kind = 'sprayed_concrete' then flat.area_m2 * coalesce(r.thickness_mm, i.theoretical_thickness_mm) / 1000 end as theoretical_m3,
    case when i.kind in ('sprayed_concrete', 'cast_concrete', 'cavity_fill') then r.delivered_volume_m3 end as delivered_m3
) sprayed;

comment on view support_measured is
  'One row per line of a shift''s support list with what it measures, by ids; support_measure_row describes the same. Quantities, not a judgement of the '
  'support: that is for the designer and the local code.';
comment on column support_measured.total_length_m is
  'What is counted in m; of what is counted in nr number times length: bolts, spiles, drains, lattice girders along their centre line, invert segments along '
  'the drive. [m]';
comment on column support_measured.area_m2 is
  'Bolts: arc times length that they support; mesh: net, laps not counted; sprayed concrete: sprayed; lagging. [m2]';
comment on column support_measured.gross_area_m2 is 'Mesh with its laps. [m2]';
comment on column support_measured.mass_kg is
  'What is counted in kg or t; mesh with its laps, ribs, lattice girders, lagging, invert segments by the mass of the item. [kg]';
comment on column support_measured.theoretical_volume_m3 is 'Sprayed concrete: area times thickness, the line''s, else the item''s. [m3]';
comment on column support_measured.expected_volume_m3 is
  'What that should take by the item: theoretical · (1 + overbreak and roughness) / (1 − rebound). [m3]';
comment on column support_measured.delivered_volume_m3 is 'By the delivery tickets. [m3]';
comment on column support_measured.placed_volume_m3 is
  'Sprayed concrete: delivered less the rebound that the item assumes; cast concrete and cavity fill counted in m3: what was put in. [m3]';
comment on column support_measured.pieces is 'Number of its pieces, of a counted item; null: measured along its length.';
comment on column support_measured.positions_m is 'Positions of its pieces, if posted individually; null: evenly along its interval. [driven m]';
comment on column support_measured.missing is 'Inputs without which a figure of its kind has no answer, one bit each, which support_inputs names; 0: none.';
