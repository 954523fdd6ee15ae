-- compatible: older builds keep working
-- Grouting: rounds with their holes, the mixes that each hole took, and the control holes drilled afterwards.

CREATE TYPE "grouting_purpose" AS ENUM ('pre_grouting', 'post_grouting');
CREATE TYPE "grouting_state" AS ENUM ('under_way', 'complete', 'abandoned');
CREATE TYPE "grouting_stop" AS ENUM ('pressure', 'volume', 'flow', 'leakage', 'connection', 'other');

CREATE TABLE "grout_round" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "purpose" "grouting_purpose" NOT NULL,
    "state" "grouting_state" NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "face_m" DECIMAL(9,3),
    "started_at" TIMESTAMPTZ(3) NOT NULL,
    "ended_at" TIMESTAMPTZ(3),
    "trigger_measurement" TEXT,
    "trigger_hole" TEXT,
    "control_holes" TEXT[] NOT NULL,
    "remark" TEXT,

    CONSTRAINT "grout_round_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "grout_hole" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "grout_round_id" INTEGER NOT NULL,
    "name" TEXT NOT NULL,
    "collar_m" DECIMAL(9,3) NOT NULL,
    "position_deg" DECIMAL(6,2),
    "look_out_deg" DECIMAL(5,2) NOT NULL,
    "look_out_azimuth_deg" DECIMAL(6,2),
    "length_m" DECIMAL(7,3) NOT NULL,
    "diameter_mm" DECIMAL(6,2),
    "started_at" TIMESTAMPTZ(3),
    "ended_at" TIMESTAMPTZ(3),
    "pressure_end_bar" DECIMAL(8,3),
    "stop_criterion" "grouting_stop",
    "remark" TEXT,
    "axial_reach_m" DECIMAL(7,3) NOT NULL,
    "radial_spread_m" DECIMAL(7,3) NOT NULL,

    CONSTRAINT "grout_hole_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "grout_mix" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "grout_hole_id" INTEGER NOT NULL,
    "number" INTEGER NOT NULL,
    "material" TEXT NOT NULL,
    "water_cement_ratio" DECIMAL(5,3),
    "mass_kg" DECIMAL(12,3) NOT NULL,
    "volume_l" DECIMAL(12,3),

    CONSTRAINT "grout_mix_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "grout_round_drive_id_name_key" ON "grout_round"("drive_id", "name");
CREATE UNIQUE INDEX "grout_round_id_drive_id_project_id_key" ON "grout_round"("id", "drive_id", "project_id");
CREATE INDEX "grout_round_drive_id_started_at_idx" ON "grout_round"("drive_id", "started_at");
CREATE UNIQUE INDEX "grout_hole_grout_round_id_name_key" ON "grout_hole"("grout_round_id", "name");
CREATE UNIQUE INDEX "grout_hole_id_drive_id_project_id_key" ON "grout_hole"("id", "drive_id", "project_id");
CREATE INDEX "grout_hole_drive_id_idx" ON "grout_hole"("drive_id");
CREATE UNIQUE INDEX "grout_mix_grout_hole_id_number_key" ON "grout_mix"("grout_hole_id", "number");
CREATE INDEX "grout_mix_drive_id_idx" ON "grout_mix"("drive_id");
ALTER TABLE "grout_round" ADD CONSTRAINT "grout_round_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "grout_hole" ADD CONSTRAINT "grout_hole_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "grout_hole" ADD CONSTRAINT "grout_hole_grout_round_id_drive_id_project_id_fkey" FOREIGN KEY ("grout_round_id", "drive_id", "project_id") REFERENCES "grout_round"("id", "drive_id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "grout_mix" ADD CONSTRAINT "grout_mix_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "grout_mix" ADD CONSTRAINT "grout_mix_grout_hole_id_drive_id_project_id_fkey" FOREIGN KEY ("grout_hole_id", "drive_id", "project_id") REFERENCES "grout_hole"("id", "drive_id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE grout_round
  ADD CONSTRAINT grout_round_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT grout_round_interval CHECK (from_m >= 0 AND to_m > from_m AND face_m >= 0),
  ADD CONSTRAINT grout_round_times CHECK (ended_at > started_at AND (state <> 'complete' OR ended_at IS NOT NULL)),
  ADD CONSTRAINT grout_round_trigger CHECK (trigger_measurement ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$' AND trigger_hole ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT grout_round_control_holes CHECK (array_position(control_holes, NULL) IS NULL);
ALTER TABLE grout_hole
  ADD CONSTRAINT grout_hole_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT grout_hole_geometry CHECK (collar_m >= 0 AND length_m > 0 AND look_out_deg >= 0 AND look_out_deg < 90 AND position_deg BETWEEN 0 AND 360
    AND axial_reach_m >= 0 AND radial_spread_m >= 0 AND diameter_mm > 0),
  ADD CONSTRAINT grout_hole_azimuth CHECK (look_out_azimuth_deg BETWEEN 0 AND 360 AND (look_out_azimuth_deg IS NULL OR position_deg IS NOT NULL)),
  ADD CONSTRAINT grout_hole_times CHECK (ended_at > started_at),
  ADD CONSTRAINT grout_hole_pressure CHECK (pressure_end_bar >= 0);
ALTER TABLE grout_mix
  ADD CONSTRAINT grout_mix_figures CHECK (number > 0 AND material <> '' AND water_cement_ratio > 0 AND mass_kg >= 0 AND volume_l >= 0);

CREATE TRIGGER project_of_drive BEFORE INSERT ON grout_round
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER project_of_drive BEFORE INSERT ON grout_hole
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER project_of_drive BEFORE INSERT ON grout_mix
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION grouting_within_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric;
BEGIN
  IF TG_TABLE_NAME = 'grout_round' THEN furthest := greatest(NEW.to_m, NEW.face_m);
  ELSE furthest := NEW.collar_m;
  END IF;
  IF furthest > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, furthest),
        chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON grout_round FOR EACH ROW EXECUTE FUNCTION grouting_within_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON grout_hole FOR EACH ROW EXECUTE FUNCTION grouting_within_drive();

-- A drive keeps the start and direction by which its grouting rounds are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_grouting() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT greatest(max(r.to_m), max(r.face_m), (SELECT max(h.collar_m) FROM grout_hole h WHERE h.drive_id = NEW.id))
    FROM grout_round r WHERE r.drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has grouting rounds';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_grouting', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, to which a grouting round reaches', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_grouting AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_grouting();

COMMENT ON TABLE grout_round IS 'A grouting round of a drive.';
COMMENT ON COLUMN grout_round.from_m IS 'Where the interval treated begins, in driven metres. [m]';
COMMENT ON COLUMN grout_round.face_m IS 'Where the face stood. [m]';
COMMENT ON COLUMN grout_round.trigger_measurement IS 'Name of the measurement of inflow that led to it.';
COMMENT ON COLUMN grout_round.trigger_hole IS 'Name of the probe hole that led to it.';
COMMENT ON COLUMN grout_round.control_holes IS 'Names of the probe holes drilled to check it.';
COMMENT ON TABLE grout_hole IS 'A hole of a grouting round.';
COMMENT ON COLUMN grout_hole.started_at IS 'When grouting of the hole began.';
COMMENT ON COLUMN grout_hole.ended_at IS 'When it ended; null: with the round.';
COMMENT ON COLUMN grout_hole.axial_reach_m IS 'Computed on write. [m]';
COMMENT ON COLUMN grout_hole.radial_spread_m IS 'Computed on write. [m]';
COMMENT ON TABLE grout_mix IS 'A mix that a hole took.';
COMMENT ON COLUMN grout_mix.water_cement_ratio IS 'By mass; null: no cement.';
COMMENT ON COLUMN grout_mix.mass_kg IS 'Dry mass. [kg]';
COMMENT ON COLUMN grout_mix.volume_l IS 'Volume of grout; null: not noted. [l]';

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['grout_round', 'grout_hole', 'grout_mix']) t;
