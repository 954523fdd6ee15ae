-- Where the face is to stand, by a programme: one row a day that the programme names.
CREATE TABLE "programme_point" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "programme" TEXT NOT NULL,
    "planned_day" DATE NOT NULL,
    "planned_m" DECIMAL(9,3) NOT NULL,

    CONSTRAINT "programme_point_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "programme_point_drive_id_programme_planned_day_key" ON "programme_point"("drive_id", "programme", "planned_day");
ALTER TABLE "programme_point" ADD CONSTRAINT "programme_point_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE programme_point
  ADD CONSTRAINT programme_point_code CHECK (programme ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT programme_point_day CHECK (planned_day >= '1900-01-01' AND planned_day < '2200-01-01'),
  ADD CONSTRAINT programme_point_place CHECK (planned_m >= 0);

CREATE TRIGGER project_of_drive BEFORE INSERT ON programme_point
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION programme_within_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.planned_m > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, NEW.planned_m),
        chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON programme_point FOR EACH ROW EXECUTE FUNCTION programme_within_drive();

-- From day to day a programme goes on or stands still; it does not go back. Looks at the neighbours only, at the end of the transaction.
CREATE FUNCTION programme_rises() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  point programme_point;
  earlier programme_point;
  later programme_point;
BEGIN
  PERFORM lock_drive(NEW.drive_id);
  SELECT * INTO point FROM programme_point WHERE id = NEW.id;
  IF NOT FOUND THEN RETURN NULL; END IF;
  SELECT * INTO earlier FROM programme_point WHERE drive_id = point.drive_id AND programme = point.programme
    AND planned_day < point.planned_day ORDER BY planned_day DESC LIMIT 1;
  IF earlier.planned_m > point.planned_m THEN later := point;
  ELSE
    earlier := point;
    SELECT * INTO later FROM programme_point WHERE drive_id = point.drive_id AND programme = point.programme
      AND planned_day > point.planned_day ORDER BY planned_day LIMIT 1;
  END IF;
  IF earlier.planned_m > later.planned_m THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'programme_rises', TABLE = TG_TABLE_NAME,
      MESSAGE = format('programme %s goes back from %s on %s to %s on %s', point.programme, chainage_at(point.drive_id, earlier.planned_m),
        earlier.planned_day, chainage_at(point.drive_id, later.planned_m), later.planned_day);
  END IF;
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER programme_rises AFTER INSERT OR UPDATE ON programme_point
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION programme_rises();

-- A drive with a programme keeps its start and direction, by which the programme's chainages are kept, and does not end before it.
CREATE FUNCTION drive_keeps_its_programmes() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(planned_m) FROM programme_point WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has a programme';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_programme', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, which a programme reaches', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_programmes AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_programmes();

SELECT hold_to_scope('programme_point'), history.keep('programme_point');
