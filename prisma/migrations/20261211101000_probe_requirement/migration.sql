-- compatible: older builds keep working
-- What probing a project asks for ahead of the face: so many holes, one in each sector, with an overlap; by length of the drive, and for
-- all other lengths (from_m and to_m null). Dated: the newest revision in force on the production day asked for rules, whole.
CREATE TABLE "probe_requirement" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "revision" TEXT,
    "valid_from" DATE,
    "name" TEXT NOT NULL,
    "from_m" DECIMAL(9,3),
    "to_m" DECIMAL(9,3),
    "hole_count" INTEGER NOT NULL,
    "sector_from_deg" DECIMAL(6,2)[] NOT NULL DEFAULT '{}',
    "sector_to_deg" DECIMAL(6,2)[] NOT NULL DEFAULT '{}',
    "overlap_m" DECIMAL(7,3) NOT NULL,
    "least_length_m" DECIMAL(7,3),

    CONSTRAINT "probe_requirement_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "probe_requirement_drive_id_valid_from_name_key" ON "probe_requirement"("drive_id", "valid_from", "name") NULLS NOT DISTINCT;
CREATE UNIQUE INDEX probe_requirement_one_default ON probe_requirement (drive_id, valid_from) NULLS NOT DISTINCT WHERE from_m IS NULL;
ALTER TABLE "probe_requirement" ADD CONSTRAINT "probe_requirement_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE probe_requirement
  ADD CONSTRAINT probe_requirement_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT probe_requirement_revision CHECK (revision ~ '\S' AND (valid_from IS NULL OR revision IS NOT NULL)),
  ADD CONSTRAINT probe_requirement_place CHECK (num_nonnulls(from_m, to_m) <> 1 AND from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT probe_requirement_size CHECK (hole_count >= 0 AND overlap_m >= 0 AND least_length_m > 0),
  ADD CONSTRAINT probe_requirement_sectors CHECK (cardinality(sector_from_deg) = cardinality(sector_to_deg)
    AND cardinality(sector_from_deg) <= hole_count AND array_position(sector_from_deg, NULL) IS NULL AND array_position(sector_to_deg, NULL) IS NULL
    AND 0 <= ALL (sector_from_deg) AND 360 >= ALL (sector_from_deg) AND 0 <= ALL (sector_to_deg) AND 360 >= ALL (sector_to_deg)),
  -- a day before all others, as an index of this kind cannot split pages that hold an infinite date
  ADD CONSTRAINT probe_requirement_once EXCLUDE USING gist (
    drive_id WITH =, coalesce(valid_from, '0001-01-01'::date) WITH =, numrange(from_m, to_m) WITH &&) WHERE (from_m IS NOT NULL);

CREATE TRIGGER project_of_drive BEFORE INSERT ON probe_requirement
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON probe_requirement
  FOR EACH ROW WHEN (NEW.from_m IS NOT NULL) EXECUTE FUNCTION interval_within_drive();

-- A drive with requirements of lengths keeps its start and direction, by which their chainages are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_probing() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(to_m) FROM probe_requirement WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has probe requirements';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_probing', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, which a probe requirement reaches', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_probing AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_probing();

SELECT hold_to_scope('probe_requirement'), history.keep('probe_requirement');
