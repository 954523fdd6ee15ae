-- compatible: older builds keep working
-- A probe hole whole: how it was drilled, in which state it is, and what was logged along it. Holes that stand keep all they have; of
-- what is new nothing is known of them. A state that is null was not noted: the hole was drilled.
CREATE TYPE "probe_method" AS ENUM ('percussive', 'cored');
CREATE TYPE "probe_hole_state" AS ENUM ('drilled', 'abandoned', 'flooded', 'grouted', 'control_hole');

ALTER TABLE "probe_hole" ADD COLUMN "look_out_azimuth_deg" DECIMAL(6,2), ADD COLUMN "planned_length_m" DECIMAL(7,3), ADD COLUMN "diameter_mm" DECIMAL(6,2),
  ADD COLUMN "method" "probe_method", ADD COLUMN "state" "probe_hole_state";
ALTER TABLE history.probe_hole ADD COLUMN look_out_azimuth_deg DECIMAL(6,2), ADD COLUMN planned_length_m DECIMAL(7,3), ADD COLUMN diameter_mm DECIMAL(6,2),
  ADD COLUMN method probe_method, ADD COLUMN state probe_hole_state;

ALTER TABLE probe_hole
  ADD CONSTRAINT probe_hole_drilling CHECK (planned_length_m > 0 AND diameter_mm > 0),
  ADD CONSTRAINT probe_hole_azimuth CHECK (look_out_azimuth_deg BETWEEN 0 AND 360 AND (look_out_azimuth_deg IS NULL OR position_deg IS NOT NULL));

CREATE UNIQUE INDEX "probe_hole_id_drive_id_project_id_key" ON "probe_hole"("id", "drive_id", "project_id");

CREATE TABLE "probe_log" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "probe_hole_id" INTEGER NOT NULL,
    "from_m" DECIMAL(7,3) NOT NULL,
    "to_m" DECIMAL(7,3) NOT NULL,
    "penetration_rate_m_per_min" DECIMAL(6,3),
    "flushing_colour" TEXT,
    "flushing_loss_percent" DECIMAL(5,2),
    "water_inflow_l_per_min" DECIMAL(10,2),
    "water_pressure_bar" DECIMAL(6,2),
    "is_void" BOOLEAN NOT NULL DEFAULT false,
    "rock" TEXT,
    "remark" TEXT,

    CONSTRAINT "probe_log_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "probe_log_probe_hole_id_from_m_key" ON "probe_log"("probe_hole_id", "from_m");
CREATE INDEX "probe_log_drive_id_idx" ON "probe_log"("drive_id");
ALTER TABLE "probe_log" ADD CONSTRAINT "probe_log_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "probe_log" ADD CONSTRAINT "probe_log_probe_hole_id_drive_id_project_id_fkey" FOREIGN KEY ("probe_hole_id", "drive_id", "project_id") REFERENCES "probe_hole"("id", "drive_id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE probe_log
  ADD CONSTRAINT probe_log_has_length CHECK (from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT probe_log_size CHECK (penetration_rate_m_per_min >= 0 AND flushing_loss_percent BETWEEN 0 AND 100 AND water_inflow_l_per_min >= 0
    AND water_pressure_bar >= 0),
  ADD CONSTRAINT probe_log_once EXCLUDE USING gist (probe_hole_id WITH =, numrange(from_m, to_m) WITH &&);

CREATE TRIGGER project_of_drive BEFORE INSERT ON probe_log
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

-- What is logged lies within the drilled length, whichever of the two is written later; the hole is held until the end of the transaction.
CREATE FUNCTION probe_log_within_hole() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  hole probe_hole;
  deepest numeric;
BEGIN
  IF TG_TABLE_NAME = 'probe_hole' THEN hole := NEW;
  ELSE SELECT * INTO hole FROM probe_hole WHERE id = NEW.probe_hole_id FOR NO KEY UPDATE;
  END IF;
  SELECT max(to_m) INTO deepest FROM probe_log WHERE probe_hole_id = hole.id;
  IF deepest > hole.length_m THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'probe_log_within_hole', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the log of probe hole %s reaches %s m; the hole was drilled to %s m', hole.name, deepest, hole.length_m);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER log_within_hole AFTER INSERT OR UPDATE ON probe_log FOR EACH ROW EXECUTE FUNCTION probe_log_within_hole();
CREATE TRIGGER log_within_hole AFTER UPDATE OF length_m ON probe_hole
  FOR EACH ROW WHEN (NEW.length_m < OLD.length_m) EXECUTE FUNCTION probe_log_within_hole();

SELECT history.keep('probe_hole'), hold_to_scope('probe_log'), history.keep('probe_log');
