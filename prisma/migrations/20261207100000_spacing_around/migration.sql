-- Bolts may be demanded at a spacing along the drive and around the arc: then the pieces in a row follow from the arc and are not given. No row
-- changes: what stood has no spacing around.
ALTER TABLE "standard_support_item" ADD COLUMN "around_spacing_m" DECIMAL(6,3), ADD COLUMN "around_tolerance_m" DECIMAL(6,3);
ALTER TABLE "design_section_item" ADD COLUMN "around_spacing_m" DECIMAL(6,3), ADD COLUMN "around_tolerance_m" DECIMAL(6,3);
ALTER TABLE history.standard_support_item ADD COLUMN around_spacing_m DECIMAL(6,3), ADD COLUMN around_tolerance_m DECIMAL(6,3);
ALTER TABLE history.design_section_item ADD COLUMN around_spacing_m DECIMAL(6,3), ADD COLUMN around_tolerance_m DECIMAL(6,3);

ALTER TABLE standard_support_item
  DROP CONSTRAINT standard_support_item_spacing,
  ADD CONSTRAINT standard_support_item_spacing CHECK (CASE WHEN spacing_m IS NULL
    THEN num_nonnulls(spacing_tolerance_m, pieces_per_row, from_deg, to_deg, around_spacing_m, around_tolerance_m) = 0
    ELSE unit = 'nr' AND tolerance_percent = 0 AND spacing_tolerance_m IS NOT NULL AND num_nonnulls(pieces_per_row, around_spacing_m) = 1
      AND num_nonnulls(from_deg, to_deg) <> 1 AND num_nonnulls(around_spacing_m, around_tolerance_m) <> 1 END),
  ADD CONSTRAINT standard_support_item_around CHECK (around_spacing_m > 0 AND around_tolerance_m >= 0);
ALTER TABLE design_section_item
  DROP CONSTRAINT design_section_item_spacing,
  ADD CONSTRAINT design_section_item_spacing CHECK (CASE WHEN spacing_m IS NULL
    THEN num_nonnulls(spacing_tolerance_m, pieces_per_row, from_deg, to_deg, around_spacing_m, around_tolerance_m) = 0
    ELSE unit = 'nr' AND tolerance_percent = 0 AND spacing_tolerance_m IS NOT NULL AND num_nonnulls(pieces_per_row, around_spacing_m) = 1
      AND num_nonnulls(from_deg, to_deg) <> 1 AND num_nonnulls(around_spacing_m, around_tolerance_m) <> 1 END),
  ADD CONSTRAINT design_section_item_around CHECK (around_spacing_m > 0 AND around_tolerance_m >= 0);

SELECT history.keep(t) FROM unnest(ARRAY['standard_support_item', 'design_section_item']) t;

-- They answer more columns, and are put in again after the migrations.
DROP FUNCTION IF EXISTS report.support_demand_of(int, int[]) CASCADE;
DROP FUNCTION IF EXISTS report.support_gap_of(int) CASCADE;
DROP FUNCTION IF EXISTS report.support_gap(text, text) CASCADE;
