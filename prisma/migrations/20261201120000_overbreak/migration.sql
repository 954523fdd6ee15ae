-- Rock that came out beyond the bored section, by interval; what the ground caused and what the operation caused are separate items.
CREATE TYPE "overbreak_cause" AS ENUM ('geological', 'operational');

CREATE TABLE "overbreak_item" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "cause" "overbreak_cause" NOT NULL,
    "area_m2" DECIMAL(8,3),
    "volume_m3" DECIMAL(12,3) NOT NULL,
    "volume_surveyed" BOOLEAN NOT NULL,
    "max_depth_m" DECIMAL(6,3),
    "arc_from_deg" DECIMAL(6,2),
    "arc_to_deg" DECIMAL(6,2),
    "remark" TEXT,
    "surveyed_by" TEXT,
    "surveyed_at" TIMESTAMPTZ(3),

    CONSTRAINT "overbreak_item_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "overbreak_item_drive_id_name_key" ON "overbreak_item"("drive_id", "name");
CREATE INDEX "overbreak_item_drive_id_from_m_idx" ON "overbreak_item"("drive_id", "from_m");
ALTER TABLE "overbreak_item" ADD CONSTRAINT "overbreak_item_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- The degrees of the ring that an arc covers, clockwise from the crown; without an arc, all of it.
CREATE FUNCTION ring_arc(from_deg numeric, to_deg numeric) RETURNS nummultirange LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT CASE
    WHEN from_deg IS NULL OR to_deg IS NULL THEN nummultirange(numrange(0, 360))
    WHEN from_deg < to_deg THEN nummultirange(numrange(from_deg, to_deg))
    ELSE nummultirange(numrange(from_deg, 360), numrange(0, to_deg)) -- over the crown
  END
$$;

ALTER TABLE overbreak_item
  ADD CONSTRAINT overbreak_item_code CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT overbreak_item_has_length CHECK (from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT overbreak_item_size CHECK (area_m2 >= 0 AND volume_m3 >= 0 AND max_depth_m >= 0),
  ADD CONSTRAINT overbreak_item_volume CHECK (volume_surveyed OR (area_m2 IS NOT NULL AND volume_m3 = round(area_m2 * (to_m - from_m), 3))),
  ADD CONSTRAINT overbreak_item_arc CHECK (
    (arc_from_deg IS NULL) = (arc_to_deg IS NULL) AND arc_from_deg >= 0 AND arc_from_deg < 360 AND arc_to_deg > 0 AND arc_to_deg <= 360
    AND arc_from_deg <> arc_to_deg),
  ADD CONSTRAINT overbreak_item_once EXCLUDE USING gist (
    drive_id WITH =, cause WITH =, numrange(from_m, to_m) WITH &&, ring_arc(arc_from_deg, arc_to_deg) WITH &&);

CREATE TRIGGER project_of_drive BEFORE INSERT ON overbreak_item
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON overbreak_item FOR EACH ROW EXECUTE FUNCTION interval_within_drive();

-- A drive with overbreak keeps its start and direction, by which the items' chainages are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_overbreak() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(to_m) FROM overbreak_item WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has overbreak surveyed';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_overbreak', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, to which overbreak was surveyed', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_overbreak AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_overbreak();

SELECT hold_to_scope('overbreak_item'), history.keep('overbreak_item');
