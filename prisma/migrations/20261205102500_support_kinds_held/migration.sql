-- In which units each kind of support may be counted, and which dimensions belong to it.
ALTER TABLE support_item
  DROP CONSTRAINT support_item_unit_of_kind,
  ADD CONSTRAINT support_item_unit_of_kind CHECK (unit::text = ANY (CASE kind::text
    WHEN 'bolt' THEN ARRAY['nr']
    WHEN 'mesh' THEN ARRAY['m2', 'kg', 't']
    WHEN 'rib' THEN ARRAY['nr', 'm', 'kg', 't']
    WHEN 'lattice_girder' THEN ARRAY['nr', 'm', 'kg', 't']
    WHEN 'lagging' THEN ARRAY['nr', 'm2']
    WHEN 'sprayed_concrete' THEN ARRAY['m2', 'm3']
    WHEN 'cast_concrete' THEN ARRAY['m3']
    WHEN 'cavity_fill' THEN ARRAY['m3', 'kg', 't']
    WHEN 'spile' THEN ARRAY['nr', 'm']
    WHEN 'drain' THEN ARRAY['nr', 'm']
    WHEN 'invert_segment' THEN ARRAY['nr', 'm']
    ELSE ARRAY[]::text[] END)),
  DROP CONSTRAINT support_item_dimensions_of_kind,
  ADD CONSTRAINT support_item_dimensions_of_kind CHECK (
    (kind::text IN ('bolt', 'spile', 'drain') OR diameter_mm IS NULL)
    AND (kind::text = 'bolt' OR num_nonnulls(circumferential_spacing_m, pattern_arc_deg) = 0)
    AND (kind::text IN ('bolt', 'rib', 'lattice_girder') OR longitudinal_spacing_m IS NULL)
    AND (kind::text = 'mesh' OR num_nonnulls(sheet_length_m, sheet_width_m, lap_percent) = 0)
    AND (kind::text IN ('rib', 'lattice_girder') OR centre_line_diameter_m IS NULL)
    AND (kind::text IN ('invert_segment', 'lagging') OR mass_kg IS NULL)
    AND (kind::text = 'sprayed_concrete' OR num_nonnulls(theoretical_thickness_mm, rebound_percent, overbreak_percent) = 0));

-- Delivery tickets are of volumes
ALTER TABLE support_installed
  DROP CONSTRAINT support_installed_delivered_volume,
  ADD CONSTRAINT support_installed_delivered_volume CHECK (delivered_volume_m3 IS NULL OR (delivered_volume_m3 > 0 AND unit::text IN ('m2', 'm3')));
