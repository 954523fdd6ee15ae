-- What is demanded is dated: several revisions of a class's standard, of a design section and of a limit stand side by side, and a
-- place is judged by the one in force on the production day on which it was bored. Null: from the beginning, as all that stood until
-- now; no row changes.
ALTER TABLE "standard_support" ADD COLUMN "valid_from" DATE, ADD COLUMN "revision" TEXT;
ALTER TABLE "design_section" ADD COLUMN "valid_from" DATE, ADD COLUMN "revision" TEXT;
ALTER TABLE "drive_support_limit" ADD COLUMN "valid_from" DATE, ADD COLUMN "revision" TEXT, ALTER COLUMN "limit_m" DROP NOT NULL;

-- A demand is a quantity per metre, or pieces at a spacing: so many in a row across the drive, of a sector or of the whole ring.
ALTER TABLE "standard_support_item" ALTER COLUMN "quantity_per_m" DROP NOT NULL, ADD COLUMN "spacing_m" DECIMAL(6,3),
  ADD COLUMN "spacing_tolerance_m" DECIMAL(6,3), ADD COLUMN "pieces_per_row" INTEGER, ADD COLUMN "from_deg" DECIMAL(6,2), ADD COLUMN "to_deg" DECIMAL(6,2);
ALTER TABLE "design_section_item" ALTER COLUMN "quantity_per_m" DROP NOT NULL, ADD COLUMN "spacing_m" DECIMAL(6,3),
  ADD COLUMN "spacing_tolerance_m" DECIMAL(6,3), ADD COLUMN "pieces_per_row" INTEGER, ADD COLUMN "from_deg" DECIMAL(6,2), ADD COLUMN "to_deg" DECIMAL(6,2);

ALTER TABLE history.standard_support ADD COLUMN valid_from DATE, ADD COLUMN revision TEXT;
ALTER TABLE history.design_section ADD COLUMN valid_from DATE, ADD COLUMN revision TEXT;
ALTER TABLE history.drive_support_limit ADD COLUMN valid_from DATE, ADD COLUMN revision TEXT, ALTER COLUMN limit_m DROP NOT NULL;
ALTER TABLE history.standard_support_item ALTER COLUMN quantity_per_m DROP NOT NULL, ADD COLUMN spacing_m DECIMAL(6,3),
  ADD COLUMN spacing_tolerance_m DECIMAL(6,3), ADD COLUMN pieces_per_row INTEGER, ADD COLUMN from_deg DECIMAL(6,2), ADD COLUMN to_deg DECIMAL(6,2);
ALTER TABLE history.design_section_item ALTER COLUMN quantity_per_m DROP NOT NULL, ADD COLUMN spacing_m DECIMAL(6,3),
  ADD COLUMN spacing_tolerance_m DECIMAL(6,3), ADD COLUMN pieces_per_row INTEGER, ADD COLUMN from_deg DECIMAL(6,2), ADD COLUMN to_deg DECIMAL(6,2);

DROP INDEX "standard_support_ground_class_id_project_id_key";
DROP INDEX "standard_support_item_standard_support_id_support_item_id_z_key";
DROP INDEX "design_section_drive_id_name_key";
DROP INDEX "design_section_item_design_section_id_support_item_id_zone_key";
DROP INDEX "drive_support_limit_drive_id_zone_key";
CREATE UNIQUE INDEX "standard_support_ground_class_id_valid_from_key" ON "standard_support"("ground_class_id", "valid_from") NULLS NOT DISTINCT;
CREATE UNIQUE INDEX "standard_support_ground_class_id_revision_key" ON "standard_support"("ground_class_id", "revision");
CREATE UNIQUE INDEX "standard_support_item_once" ON "standard_support_item"("standard_support_id", "support_item_id", "zone", "from_deg") NULLS NOT DISTINCT;
CREATE UNIQUE INDEX "design_section_drive_id_name_valid_from_key" ON "design_section"("drive_id", "name", "valid_from") NULLS NOT DISTINCT;
CREATE UNIQUE INDEX "design_section_drive_id_name_revision_key" ON "design_section"("drive_id", "name", "revision");
CREATE UNIQUE INDEX "design_section_item_once" ON "design_section_item"("design_section_id", "support_item_id", "zone", "from_deg") NULLS NOT DISTINCT;
CREATE UNIQUE INDEX "drive_support_limit_drive_id_zone_valid_from_key" ON "drive_support_limit"("drive_id", "zone", "valid_from") NULLS NOT DISTINCT;

ALTER TABLE standard_support ADD CONSTRAINT standard_support_revision CHECK (revision ~ '\S' AND (valid_from IS NULL OR revision IS NOT NULL));
ALTER TABLE design_section ADD CONSTRAINT design_section_revision CHECK (revision ~ '\S' AND (valid_from IS NULL OR revision IS NOT NULL));
ALTER TABLE drive_support_limit
  ADD CONSTRAINT drive_support_limit_revision CHECK (revision ~ '\S' AND (valid_from IS NULL OR revision IS NOT NULL)),
  ADD CONSTRAINT drive_support_limit_given CHECK (limit_m IS NOT NULL OR valid_from IS NOT NULL); -- null: none from that day on

ALTER TABLE standard_support_item
  DROP CONSTRAINT standard_support_item_demand,
  ADD CONSTRAINT standard_support_item_demand CHECK (
    num_nonnulls(quantity_per_m, spacing_m) = 1 AND quantity_per_m > 0 AND tolerance_percent >= 0 AND tolerance_percent < 100
    AND spacing_m > 0 AND spacing_tolerance_m >= 0 AND pieces_per_row > 0),
  ADD CONSTRAINT standard_support_item_spacing CHECK (CASE WHEN spacing_m IS NULL THEN num_nonnulls(spacing_tolerance_m, pieces_per_row, from_deg, to_deg) = 0
    ELSE unit = 'nr' AND tolerance_percent = 0 AND num_nonnulls(spacing_tolerance_m, pieces_per_row) = 2 AND num_nonnulls(from_deg, to_deg) <> 1 END),
  ADD CONSTRAINT standard_support_item_sector CHECK (from_deg >= 0 AND from_deg <= 360 AND to_deg >= 0 AND to_deg <= 360 AND from_deg <> to_deg);
ALTER TABLE design_section_item
  DROP CONSTRAINT design_section_item_demand,
  ADD CONSTRAINT design_section_item_demand CHECK (
    num_nonnulls(quantity_per_m, spacing_m) = 1 AND quantity_per_m > 0 AND tolerance_percent >= 0 AND tolerance_percent < 100
    AND spacing_m > 0 AND spacing_tolerance_m >= 0 AND pieces_per_row > 0),
  ADD CONSTRAINT design_section_item_spacing CHECK (CASE WHEN spacing_m IS NULL THEN num_nonnulls(spacing_tolerance_m, pieces_per_row, from_deg, to_deg) = 0
    ELSE unit = 'nr' AND tolerance_percent = 0 AND num_nonnulls(spacing_tolerance_m, pieces_per_row) = 2 AND num_nonnulls(from_deg, to_deg) <> 1 END),
  ADD CONSTRAINT design_section_item_sector CHECK (from_deg >= 0 AND from_deg <= 360 AND to_deg >= 0 AND to_deg <= 360 AND from_deg <> to_deg);

-- Two sections may share a length, but no day on which both would rule it: each revision rules until the next one of its name.
ALTER TABLE design_section DROP CONSTRAINT design_section_once;

CREATE FUNCTION design_section_once() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  changed int := CASE TG_OP WHEN 'DELETE' THEN OLD.drive_id ELSE NEW.drive_id END;
  one record;
BEGIN
  PERFORM FROM drive WHERE id = changed FOR NO KEY UPDATE; -- those who change sections of a drive follow each other
  WITH edition AS (
    SELECT name, from_m, to_m, coalesce(valid_from, '-infinity') AS since,
      lead(valid_from, 1, 'infinity') OVER (PARTITION BY name ORDER BY valid_from NULLS FIRST) AS until
    FROM design_section WHERE drive_id = changed
  )
  SELECT a.name, b.name AS other INTO one FROM edition a
    JOIN edition b ON a.name < b.name AND a.from_m < b.to_m AND a.to_m > b.from_m AND a.since < b.until AND a.until > b.since LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'exclusion_violation', CONSTRAINT = 'design_section_once', TABLE = 'design_section',
      MESSAGE = format('design sections %s and %s would rule one length on one day', one.name, one.other);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER design_section_once AFTER INSERT OR UPDATE OR DELETE ON design_section FOR EACH ROW EXECUTE FUNCTION design_section_once();

SELECT history.keep(t) FROM unnest(ARRAY['standard_support', 'standard_support_item', 'design_section', 'design_section_item', 'drive_support_limit']) t;

-- they answer other columns now; put in again after the migrations
DROP FUNCTION IF EXISTS report.support_segment(int, numeric[]) CASCADE;
DROP FUNCTION IF EXISTS report.support_standing(int, numeric[]) CASCADE;
DROP FUNCTION IF EXISTS report.support_by_stroke(int) CASCADE;
DROP FUNCTION IF EXISTS report.missing_support_between(text, text, numeric, numeric, numeric) CASCADE;
DROP FUNCTION IF EXISTS report.missing_support(text, text, numeric) CASCADE;
DROP FUNCTION IF EXISTS report.unsupported_length(text, text) CASCADE;
DROP FUNCTION IF EXISTS report.before_next_stroke(text, text, numeric) CASCADE;
DROP FUNCTION IF EXISTS report.required_support(int) CASCADE;
