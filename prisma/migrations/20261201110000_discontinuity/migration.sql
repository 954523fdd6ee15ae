-- Discontinuities as mapped on the walls: one row each, at a chainage of the drive.
CREATE TYPE "discontinuity_type" AS ENUM ('joint', 'bedding', 'foliation', 'fault', 'shear_zone', 'vein', 'contact');
CREATE TYPE "discontinuity_roughness" AS ENUM ('very_rough', 'rough', 'slightly_rough', 'smooth', 'slickensided');
CREATE TYPE "discontinuity_infilling" AS ENUM ('none', 'hard', 'soft');
CREATE TYPE "discontinuity_weathering" AS ENUM ('fresh', 'slight', 'moderate', 'high', 'decomposed');
CREATE TYPE "discontinuity_seepage" AS ENUM ('dry', 'damp', 'wet', 'dripping', 'flowing');

CREATE TABLE "discontinuity" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "at_m" DECIMAL(9,3) NOT NULL,
    "type" "discontinuity_type" NOT NULL,
    "dip_deg" DECIMAL(5,2) NOT NULL,
    "dip_direction_deg" DECIMAL(5,2) NOT NULL,
    "set_label" TEXT,
    "spacing_m" DECIMAL(7,3),
    "persistence_m" DECIMAL(7,3),
    "aperture_mm" DECIMAL(8,2),
    "roughness" "discontinuity_roughness",
    "infilling" "discontinuity_infilling",
    "infilling_material" TEXT,
    "weathering" "discontinuity_weathering",
    "seepage" "discontinuity_seepage",
    "position_deg" DECIMAL(6,2),
    "remark" TEXT,
    "mapped_by" TEXT,
    "mapped_at" TIMESTAMPTZ(3),
    "pole_east" DOUBLE PRECISION NOT NULL,
    "pole_north" DOUBLE PRECISION NOT NULL,
    "pole_down" DOUBLE PRECISION NOT NULL,

    CONSTRAINT "discontinuity_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "discontinuity_drive_id_name_key" ON "discontinuity"("drive_id", "name");
CREATE INDEX "discontinuity_drive_id_at_m_idx" ON "discontinuity"("drive_id", "at_m");
ALTER TABLE "discontinuity" ADD CONSTRAINT "discontinuity_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE discontinuity
  ADD CONSTRAINT discontinuity_code CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT discontinuity_place CHECK (at_m >= 0 AND position_deg BETWEEN 0 AND 360),
  ADD CONSTRAINT discontinuity_orientation CHECK (dip_deg BETWEEN 0 AND 90 AND dip_direction_deg >= 0 AND dip_direction_deg < 360),
  ADD CONSTRAINT discontinuity_set_label CHECK (set_label ~ '^\S(.*\S)?$'),
  ADD CONSTRAINT discontinuity_sizes CHECK (spacing_m > 0 AND persistence_m >= 0 AND aperture_mm >= 0),
  ADD CONSTRAINT discontinuity_infilling CHECK (infilling <> 'none' OR infilling_material IS NULL),
  -- of unit length, in the lower hemisphere
  ADD CONSTRAINT discontinuity_pole CHECK (
    pole_down >= 0 AND pole_east ^ 2 + pole_north ^ 2 + pole_down ^ 2 BETWEEN 1 - 1e-9 AND 1 + 1e-9);

CREATE TRIGGER project_of_drive BEFORE INSERT ON discontinuity
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION discontinuity_within_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.at_m > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, NEW.at_m),
        chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON discontinuity FOR EACH ROW EXECUTE FUNCTION discontinuity_within_drive();

-- A drive with discontinuities keeps its start and direction, by which their chainages are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_discontinuities() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(at_m) FROM discontinuity WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has discontinuities';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_discontinuity', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, where a discontinuity was mapped', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_discontinuities AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_discontinuities();

SELECT hold_to_scope('discontinuity'), history.keep('discontinuity');
