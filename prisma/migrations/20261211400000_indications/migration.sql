-- compatible: older builds keep working
--
-- Indications of what lies ahead of the face, by the investigation that gave them, and what was then met. An investigation has
-- the range that it looked at, so that its silence counts too.
CREATE TYPE "investigation_method" AS ENUM ('reflection_seismic', 'resistivity', 'geological_mapping', 'probe_hole', 'other');
CREATE TYPE "indication_kind" AS ENUM ('fractured', 'water_bearing', 'void', 'change_of_rock', 'gas');
CREATE TYPE "encounter_source" AS ENUM ('boring', 'mapping', 'probe_hole');

CREATE TABLE "investigation" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "method" "investigation_method" NOT NULL,
    "method_name" TEXT,
    "probe_hole" TEXT,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "face_m" DECIMAL(9,3) NOT NULL,
    "made_at" TIMESTAMPTZ(3) NOT NULL,
    "made_by" TEXT NOT NULL,
    "remark" TEXT,

    CONSTRAINT "investigation_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "indication" (
    "id" SERIAL NOT NULL,
    "investigation_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "key" TEXT NOT NULL,
    "kind" "indication_kind" NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "from_uncertainty_m" DECIMAL(6,3) NOT NULL,
    "to_uncertainty_m" DECIMAL(6,3) NOT NULL,
    "remark" TEXT,

    CONSTRAINT "indication_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "encounter" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "kind" "indication_kind" NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "face_m" DECIMAL(9,3),
    "source" "encounter_source" NOT NULL,
    "met_at" TIMESTAMPTZ(3) NOT NULL,
    "met_by" TEXT NOT NULL,
    "remark" TEXT,

    CONSTRAINT "encounter_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "investigation_drive_id_name_key" ON "investigation"("drive_id", "name");
CREATE UNIQUE INDEX "investigation_id_project_id_key" ON "investigation"("id", "project_id");
CREATE INDEX "investigation_drive_id_from_m_idx" ON "investigation"("drive_id", "from_m");
CREATE UNIQUE INDEX "indication_investigation_id_key_key" ON "indication"("investigation_id", "key");
CREATE UNIQUE INDEX "encounter_drive_id_name_key" ON "encounter"("drive_id", "name");
CREATE INDEX "encounter_drive_id_from_m_idx" ON "encounter"("drive_id", "from_m");
ALTER TABLE "investigation" ADD CONSTRAINT "investigation_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "indication" ADD CONSTRAINT "indication_investigation_id_project_id_fkey" FOREIGN KEY ("investigation_id", "project_id") REFERENCES "investigation"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "encounter" ADD CONSTRAINT "encounter_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE investigation
  ADD CONSTRAINT investigation_code CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT investigation_method_named CHECK ((method = 'other') = (method_name IS NOT NULL) AND method_name ~ '^\S(.*\S)?$'),
  ADD CONSTRAINT investigation_hole CHECK (probe_hole IS NULL OR method = 'probe_hole'),
  ADD CONSTRAINT investigation_ahead CHECK (face_m >= 0 AND from_m >= face_m AND to_m > from_m);

ALTER TABLE indication
  ADD CONSTRAINT indication_code CHECK (key ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT indication_place CHECK (to_m >= from_m AND from_uncertainty_m >= 0 AND to_uncertainty_m >= 0);

ALTER TABLE encounter
  ADD CONSTRAINT encounter_code CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT encounter_place CHECK (from_m >= 0 AND to_m >= from_m AND face_m >= 0);

COMMENT ON TABLE investigation IS 'A look at the ground ahead of the face by one method over one range. Positions in driven metres. [m]';
COMMENT ON COLUMN investigation.method_name IS 'The method in words, of one that is other than those listed.';
COMMENT ON COLUMN investigation.probe_hole IS 'The probe hole that it is: what that hole itself met is not compared with it.';
COMMENT ON COLUMN investigation.face_m IS 'Where the face stood when it was made. [m]';
COMMENT ON TABLE indication IS 'What an investigation indicates, with the uncertainty of either end. [m]';
COMMENT ON TABLE encounter IS 'What was met in the ground, of the kinds that indications are of. [m]';
COMMENT ON COLUMN encounter.face_m IS 'Where the face stood when it was met; null: at its start. [m]';

CREATE TRIGGER project_of_drive BEFORE INSERT ON investigation
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER project_of_drive BEFORE INSERT ON encounter
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION project_of_investigation() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  NEW.project_id := (SELECT project_id FROM investigation WHERE id = NEW.investigation_id);
  RETURN NEW;
END $$;

CREATE TRIGGER project_of_investigation BEFORE INSERT ON indication
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_investigation();

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON investigation FOR EACH ROW EXECUTE FUNCTION interval_within_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON encounter FOR EACH ROW EXECUTE FUNCTION interval_within_drive();

-- What is indicated lies in the range that was looked at. Looked at when the transaction ends: both are replaced together.
CREATE FUNCTION indications_within_range() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  outside record;
  asked int := CASE TG_TABLE_NAME WHEN 'indication' THEN (to_jsonb(NEW) ->> 'investigation_id')::int ELSE NEW.id END;
BEGIN
  SELECT v.name, v.drive_id, v.from_m, v.to_m, i.key, i.from_m AS low_m, i.to_m AS high_m INTO outside FROM investigation v
    JOIN indication i ON i.investigation_id = v.id WHERE v.id = asked AND (i.from_m < v.from_m OR i.to_m > v.to_m) ORDER BY i.key LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'indications_within_range', TABLE = 'indication',
      MESSAGE = format('indication %s, %s to %s, lies outside the range of investigation %s, %s to %s', outside.key, chainage_at(outside.drive_id, outside.low_m),
        chainage_at(outside.drive_id, outside.high_m), outside.name, chainage_at(outside.drive_id, outside.from_m), chainage_at(outside.drive_id, outside.to_m));
  END IF;
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER indications_within_range AFTER INSERT OR UPDATE ON indication
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION indications_within_range();
CREATE CONSTRAINT TRIGGER indications_within_range AFTER UPDATE OF from_m, to_m ON investigation
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION indications_within_range();

-- A drive with investigations or encounters keeps its start and direction, by which their chainages are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_indications() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := greatest((SELECT max(to_m) FROM investigation WHERE drive_id = NEW.id), (SELECT max(to_m) FROM encounter WHERE drive_id = NEW.id));
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has investigations or encounters';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_indications', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, to which the ground was investigated or met', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_indications AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_indications();

-- By how much indications of a drive are widened beyond their own uncertainty when they are compared with what was met. Null: by nothing.
ALTER TABLE "drive" ADD COLUMN "indication_tolerance_m" DECIMAL(6,3);
ALTER TABLE drive ADD CONSTRAINT drive_indication_tolerance CHECK (indication_tolerance_m BETWEEN 0 AND 100);
ALTER TABLE history.drive ADD COLUMN indication_tolerance_m DECIMAL(6,3);

SELECT hold_to_scope('investigation'), hold_to_scope('indication'), hold_to_scope('encounter'),
  history.keep('investigation'), history.keep('indication'), history.keep('encounter'), history.keep('drive');
