-- compatible: older builds keep working
-- Water: what flows in, as measured over an interval, at a hole or at the portal, and the figures by which it is judged.

CREATE TYPE "inflow_place" AS ENUM ('interval', 'hole', 'portal');
CREATE TYPE "inflow_method" AS ENUM ('bucket', 'weir', 'flow_meter', 'pump_hours', 'estimate', 'other');

CREATE TABLE "inflow_measurement" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "place" "inflow_place" NOT NULL,
    "from_m" DECIMAL(9,3),
    "to_m" DECIMAL(9,3),
    "hole" TEXT,
    "method" "inflow_method" NOT NULL,
    "measured_at" TIMESTAMPTZ(3) NOT NULL,
    "flow_l_per_min" DECIMAL(12,3) NOT NULL,
    "service_water_l_per_min" DECIMAL(12,3),
    "measured_by" TEXT,
    "remark" TEXT,

    CONSTRAINT "inflow_measurement_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "water_limit" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "valid_from" DATE NOT NULL,
    "per_100m_l_per_min" DECIMAL(12,3),
    "per_hole_l_per_min" DECIMAL(12,3),
    "total_l_per_min" DECIMAL(12,3),
    "pumping_l_per_min" DECIMAL(12,3),
    "remark" TEXT,

    CONSTRAINT "water_limit_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "inflow_measurement_drive_id_name_key" ON "inflow_measurement"("drive_id", "name");
CREATE INDEX "inflow_measurement_drive_id_measured_at_idx" ON "inflow_measurement"("drive_id", "measured_at");
CREATE UNIQUE INDEX "water_limit_drive_id_valid_from_key" ON "water_limit"("drive_id", "valid_from");
ALTER TABLE "inflow_measurement" ADD CONSTRAINT "inflow_measurement_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "water_limit" ADD CONSTRAINT "water_limit_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE inflow_measurement
  ADD CONSTRAINT inflow_measurement_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT inflow_measurement_interval CHECK ((place = 'interval') = (from_m IS NOT NULL) AND (from_m IS NULL) = (to_m IS NULL) AND from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT inflow_measurement_hole CHECK ((place = 'hole') = (hole IS NOT NULL) AND hole ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT inflow_measurement_flow CHECK (flow_l_per_min >= 0),
  ADD CONSTRAINT inflow_measurement_service_water CHECK (service_water_l_per_min IS NULL OR (place = 'portal' AND service_water_l_per_min BETWEEN 0 AND flow_l_per_min));
ALTER TABLE water_limit
  ADD CONSTRAINT water_limit_valid_from CHECK (valid_from >= '1900-01-01' AND valid_from < '2200-01-01'),
  ADD CONSTRAINT water_limit_not_negative CHECK (per_100m_l_per_min >= 0 AND per_hole_l_per_min >= 0 AND total_l_per_min >= 0 AND pumping_l_per_min >= 0);

CREATE TRIGGER project_of_drive BEFORE INSERT ON inflow_measurement
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER project_of_drive BEFORE INSERT ON water_limit
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON inflow_measurement
  FOR EACH ROW WHEN (NEW.from_m IS NOT NULL) EXECUTE FUNCTION interval_within_drive();

-- A drive with inflow measured keeps its start and direction, by which the chainages are kept, and does not end before it.
CREATE FUNCTION drive_keeps_its_inflow() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(to_m) FROM inflow_measurement WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has inflow measured';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_inflow', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, to which inflow was measured', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_inflow AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_inflow();

COMMENT ON TABLE inflow_measurement IS 'Water that flowed into a drive, as measured: over an interval, from a hole, or in all at the portal.';
COMMENT ON COLUMN inflow_measurement.hole IS 'Name of the hole; it need not be a probe hole of the record.';
COMMENT ON COLUMN inflow_measurement.flow_l_per_min IS 'As read. [l/min]';
COMMENT ON COLUMN inflow_measurement.service_water_l_per_min IS 'Of the reading at the portal, water that the works brought in; null: none. [l/min]';
COMMENT ON TABLE water_limit IS 'From a date on, until the next: inflow that triggers action, and installed pumping capacity. Null: none.';
COMMENT ON COLUMN water_limit.per_100m_l_per_min IS 'Trigger of inflow per 100 m of drive. [l/min]';
COMMENT ON COLUMN water_limit.per_hole_l_per_min IS 'Trigger of inflow from one hole. [l/min]';
COMMENT ON COLUMN water_limit.total_l_per_min IS 'Trigger of inflow of the drive in all. [l/min]';
COMMENT ON COLUMN water_limit.pumping_l_per_min IS 'Installed pumping capacity. [l/min]';

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['inflow_measurement', 'water_limit']) t;
