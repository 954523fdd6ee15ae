-- compatible: older builds keep working
-- Water tests: a section of a hole under pressure, step by step, with the Lugeon values and what is suggested by them.

CREATE TYPE "flow_pattern" AS ENUM ('laminar', 'turbulent', 'dilation', 'wash_out', 'void_filling');
CREATE TYPE "lugeon_class" AS ENUM ('very_low', 'low', 'moderate', 'medium', 'high', 'very_high');

CREATE TABLE "lugeon_test" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "hole" TEXT NOT NULL,
    "collar_m" DECIMAL(9,3),
    "from_depth_m" DECIMAL(7,3) NOT NULL,
    "to_depth_m" DECIMAL(7,3) NOT NULL,
    "hole_diameter_mm" DECIMAL(7,3),
    "static_bar" DECIMAL(8,3) NOT NULL,
    "groundwater_bar" DECIMAL(8,3) NOT NULL,
    "tested_at" TIMESTAMPTZ(3) NOT NULL,
    "tested_by" TEXT,
    "remark" TEXT,
    "flow_pattern" "flow_pattern",
    "representative_lu" DECIMAL(12,3) NOT NULL,
    "lugeon_class" "lugeon_class" NOT NULL,
    "moye_m_per_s" DOUBLE PRECISION,
    "thiem_m_per_s" DOUBLE PRECISION,

    CONSTRAINT "lugeon_test_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "lugeon_step" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "lugeon_test_id" INTEGER NOT NULL,
    "number" INTEGER NOT NULL,
    "gauge_bar" DECIMAL(8,3) NOT NULL,
    "friction_bar" DECIMAL(8,3) NOT NULL,
    "flow_l_per_min" DECIMAL(12,3) NOT NULL,
    "duration_min" DECIMAL(8,2) NOT NULL,
    "net_bar" DECIMAL(8,3) NOT NULL,
    "lugeon" DECIMAL(12,3) NOT NULL,

    CONSTRAINT "lugeon_step_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "lugeon_test_drive_id_name_key" ON "lugeon_test"("drive_id", "name");
CREATE UNIQUE INDEX "lugeon_test_id_project_id_key" ON "lugeon_test"("id", "project_id");
CREATE INDEX "lugeon_test_drive_id_tested_at_idx" ON "lugeon_test"("drive_id", "tested_at");
CREATE UNIQUE INDEX "lugeon_step_lugeon_test_id_number_key" ON "lugeon_step"("lugeon_test_id", "number");
ALTER TABLE "lugeon_test" ADD CONSTRAINT "lugeon_test_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "lugeon_step" ADD CONSTRAINT "lugeon_step_lugeon_test_id_project_id_fkey" FOREIGN KEY ("lugeon_test_id", "project_id") REFERENCES "lugeon_test"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE lugeon_test
  ADD CONSTRAINT lugeon_test_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT lugeon_test_hole CHECK (hole ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT lugeon_test_section CHECK (from_depth_m >= 0 AND to_depth_m > from_depth_m),
  ADD CONSTRAINT lugeon_test_collar CHECK (collar_m >= 0),
  ADD CONSTRAINT lugeon_test_diameter CHECK (hole_diameter_mm > 0 AND hole_diameter_mm < (to_depth_m - from_depth_m) * 1000),
  ADD CONSTRAINT lugeon_test_groundwater CHECK (groundwater_bar >= 0),
  ADD CONSTRAINT lugeon_test_conductivity CHECK ((hole_diameter_mm IS NULL) = (moye_m_per_s IS NULL) AND (moye_m_per_s IS NULL) = (thiem_m_per_s IS NULL)
    AND representative_lu >= 0 AND moye_m_per_s >= 0 AND thiem_m_per_s >= 0);
ALTER TABLE lugeon_step
  ADD CONSTRAINT lugeon_step_number CHECK (number > 0),
  ADD CONSTRAINT lugeon_step_figures CHECK (gauge_bar >= 0 AND friction_bar >= 0 AND flow_l_per_min >= 0 AND duration_min > 0 AND net_bar > 0 AND lugeon >= 0);

CREATE TRIGGER project_of_drive BEFORE INSERT ON lugeon_test
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION water_test_within_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.collar_m > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, NEW.collar_m),
        chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON lugeon_test FOR EACH ROW EXECUTE FUNCTION water_test_within_drive();

-- A drive keeps the start and direction by which the collars of its water tests are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_water_tests() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(collar_m) FROM lugeon_test WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has water tests';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_water_tests', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, where a water test was made', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_water_tests AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_water_tests();

COMMENT ON TABLE lugeon_test IS 'A water test in a section of a hole.';
COMMENT ON COLUMN lugeon_test.hole IS 'Name of the hole; it need not be a probe hole of the record.';
COMMENT ON COLUMN lugeon_test.static_bar IS 'Pressure of the water between gauge and section; negative where the section lies higher. [bar]';
COMMENT ON COLUMN lugeon_test.groundwater_bar IS 'Pressure of the groundwater at the section. [bar]';
COMMENT ON COLUMN lugeon_test.representative_lu IS 'Computed on write. [Lu]';
COMMENT ON TABLE lugeon_step IS 'A step of a water test, at one pressure.';
COMMENT ON COLUMN lugeon_step.net_bar IS 'Computed on write: gauge + static column - friction - groundwater. [bar]';
COMMENT ON COLUMN lugeon_step.lugeon IS 'Computed on write. [Lu]';

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['lugeon_test', 'lugeon_step']) t;
