-- What a support item measures. length_m serves more kinds than before: length of a bolt or a spile, developed length of a
-- rib, length of an invert segment along the drive.
ALTER TABLE "support_item" ADD COLUMN "diameter_mm" DECIMAL(7,2),
  ADD COLUMN "circumferential_spacing_m" DECIMAL(6,3),
  ADD COLUMN "longitudinal_spacing_m" DECIMAL(6,3),
  ADD COLUMN "pattern_arc_deg" DECIMAL(6,2),
  ADD COLUMN "sheet_length_m" DECIMAL(6,3),
  ADD COLUMN "sheet_width_m" DECIMAL(6,3),
  ADD COLUMN "lap_percent" DECIMAL(5,2),
  ADD COLUMN "centre_line_diameter_m" DECIMAL(6,3),
  ADD COLUMN "mass_kg" DECIMAL(9,3),
  ADD COLUMN "theoretical_thickness_mm" DECIMAL(7,2),
  ADD COLUMN "rebound_percent" DECIMAL(5,2),
  ADD COLUMN "overbreak_percent" DECIMAL(6,2);

-- Sprayed concrete by the delivery tickets.
ALTER TABLE "support_installed" ADD COLUMN "delivered_volume_m3" DECIMAL(12,3);

ALTER TABLE support_item
  DROP CONSTRAINT support_item_unit_of_kind,
  ADD CONSTRAINT support_item_unit_of_kind CHECK (CASE kind
    WHEN 'bolt' THEN unit = 'nr'
    WHEN 'rib' THEN unit = 'nr'
    WHEN 'spile' THEN unit = 'nr'
    WHEN 'invert_segment' THEN unit = 'nr'
    WHEN 'mesh' THEN unit = 'm2'
    WHEN 'sprayed_concrete' THEN unit IN ('m2', 'm3')
    ELSE false END),
  ADD CONSTRAINT support_item_dimensions CHECK (
    diameter_mm > 0 AND circumferential_spacing_m > 0 AND longitudinal_spacing_m > 0 AND pattern_arc_deg > 0 AND pattern_arc_deg <= 360
    AND sheet_length_m > 0 AND sheet_width_m > 0 AND lap_percent >= 0 AND centre_line_diameter_m > 0 AND mass_kg > 0
    AND theoretical_thickness_mm > 0 AND rebound_percent >= 0 AND rebound_percent < 100 AND overbreak_percent >= 0),
  -- those of other kinds, and what was there before, are not held to a kind: released records may have them
  ADD CONSTRAINT support_item_dimensions_of_kind CHECK (
    (kind IN ('bolt', 'spile') OR diameter_mm IS NULL)
    AND (kind = 'bolt' OR num_nonnulls(circumferential_spacing_m, pattern_arc_deg) = 0)
    AND (kind IN ('bolt', 'rib') OR longitudinal_spacing_m IS NULL)
    AND (kind = 'mesh' OR num_nonnulls(sheet_length_m, sheet_width_m, lap_percent) = 0)
    AND (kind = 'rib' OR centre_line_diameter_m IS NULL)
    AND (kind = 'invert_segment' OR mass_kg IS NULL)
    AND (kind = 'sprayed_concrete' OR num_nonnulls(theoretical_thickness_mm, rebound_percent, overbreak_percent) = 0)),
  ADD CONSTRAINT support_item_pattern CHECK (kind <> 'bolt' OR num_nonnulls(circumferential_spacing_m, longitudinal_spacing_m) <> 1),
  ADD CONSTRAINT support_item_sheet CHECK (num_nonnulls(sheet_length_m, sheet_width_m) <> 1),
  ADD CONSTRAINT support_item_rib_length CHECK (num_nonnulls(length_m, centre_line_diameter_m) < 2);

ALTER TABLE support_installed ADD CONSTRAINT support_installed_delivered_volume CHECK (delivered_volume_m3 IS NULL OR (delivered_volume_m3 > 0 AND unit <> 'nr'));

ALTER TABLE history.support_item ADD COLUMN diameter_mm DECIMAL(7,2),
  ADD COLUMN circumferential_spacing_m DECIMAL(6,3),
  ADD COLUMN longitudinal_spacing_m DECIMAL(6,3),
  ADD COLUMN pattern_arc_deg DECIMAL(6,2),
  ADD COLUMN sheet_length_m DECIMAL(6,3),
  ADD COLUMN sheet_width_m DECIMAL(6,3),
  ADD COLUMN lap_percent DECIMAL(5,2),
  ADD COLUMN centre_line_diameter_m DECIMAL(6,3),
  ADD COLUMN mass_kg DECIMAL(9,3),
  ADD COLUMN theoretical_thickness_mm DECIMAL(7,2),
  ADD COLUMN rebound_percent DECIMAL(5,2),
  ADD COLUMN overbreak_percent DECIMAL(6,2);
ALTER TABLE history.support_installed ADD COLUMN delivered_volume_m3 DECIMAL(12,3);
SELECT history.keep('support_item'), history.keep('support_installed');
