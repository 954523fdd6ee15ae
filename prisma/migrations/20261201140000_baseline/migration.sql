-- The ground that the contract expects, by chainage: a named version that tiles its drive from start to end.
CREATE TABLE "baseline" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "working_hours_per_day" DECIMAL(4,2) NOT NULL,
    "remark" TEXT,

    CONSTRAINT "baseline_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "baseline_interval" (
    "id" SERIAL NOT NULL,
    "baseline_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "ground_class_id" INTEGER NOT NULL,
    "lithology" TEXT,
    "water_inflow_l_per_min" DECIMAL(10,2),
    "advance_rate_m_per_d" DECIMAL(9,3) NOT NULL,

    CONSTRAINT "baseline_interval_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "baseline_drive_id_name_key" ON "baseline"("drive_id", "name");
CREATE UNIQUE INDEX "baseline_id_project_id_key" ON "baseline"("id", "project_id");
CREATE UNIQUE INDEX "baseline_interval_baseline_id_from_m_key" ON "baseline_interval"("baseline_id", "from_m");
CREATE INDEX "baseline_interval_baseline_id_to_m_idx" ON "baseline_interval"("baseline_id", "to_m");
CREATE INDEX "baseline_interval_ground_class_id_idx" ON "baseline_interval"("ground_class_id");
ALTER TABLE "baseline" ADD CONSTRAINT "baseline_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "baseline_interval" ADD CONSTRAINT "baseline_interval_baseline_id_project_id_fkey" FOREIGN KEY ("baseline_id", "project_id") REFERENCES "baseline"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE,
  ADD CONSTRAINT "baseline_interval_ground_class_id_project_id_fkey" FOREIGN KEY ("ground_class_id", "project_id") REFERENCES "ground_class"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE baseline
  ADD CONSTRAINT baseline_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT baseline_working_hours CHECK (working_hours_per_day > 0 AND working_hours_per_day <= 24);

ALTER TABLE baseline_interval
  ADD CONSTRAINT baseline_interval_has_length CHECK (from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT baseline_interval_expected CHECK (advance_rate_m_per_d > 0 AND water_inflow_l_per_min >= 0),
  -- deferred: a version is replaced interval by interval
  ADD CONSTRAINT baseline_interval_once EXCLUDE USING gist (baseline_id WITH =, numrange(from_m, to_m) WITH &&) DEFERRABLE INITIALLY DEFERRED;

COMMENT ON TABLE baseline IS 'A version of the ground that the contract expects along a drive; its intervals tile the drive.';
COMMENT ON COLUMN baseline.working_hours_per_day IS 'Working hours in a day of the advance rates. [h/d]';
COMMENT ON TABLE baseline_interval IS 'Class, lithology, water and advance rate that a baseline expects over a length. Positions in driven metres. [m]';
COMMENT ON COLUMN baseline_interval.advance_rate_m_per_d IS 'Expected advance rate. [m/d]';
COMMENT ON COLUMN baseline_interval.water_inflow_l_per_min IS 'Expected water inflow of the interval. [l/min]';

CREATE TRIGGER project_of_drive BEFORE INSERT ON baseline
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION project_of_baseline() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  NEW.project_id := (SELECT project_id FROM baseline WHERE id = NEW.baseline_id);
  RETURN NEW;
END $$;

CREATE TRIGGER project_of_baseline BEFORE INSERT ON baseline_interval
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_baseline();

-- A baseline tiles its drive. Intervals do not overlap, so each only needs a neighbour, or the drive's end, at both of its ends;
-- where one went, another holds its place. Looked at when the transaction ends.
CREATE FUNCTION hold_baseline_tiled(p_baseline_id int, p_m numeric) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  b baseline;
BEGIN
  SELECT * INTO b FROM baseline WHERE id = p_baseline_id;
  IF NOT FOUND OR p_m = drive_length(b.drive_id) OR EXISTS (
    SELECT FROM baseline_interval WHERE baseline_id = b.id AND from_m = p_m
      AND (p_m = 0 OR EXISTS (SELECT FROM baseline_interval l WHERE l.baseline_id = b.id AND l.to_m = p_m))) THEN RETURN;
  END IF;
  RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'baseline_tiled', TABLE = 'baseline_interval',
    MESSAGE = format('baseline %s does not tile its drive at %s', b.name, chainage_at(b.drive_id, p_m));
END $$;

CREATE FUNCTION baseline_tiled() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  PERFORM hold_baseline_tiled(NEW.id, 0), hold_baseline_tiled(NEW.id, max(to_m)) FROM baseline_interval WHERE baseline_id = NEW.id;
  RETURN NULL;
END $$;

CREATE FUNCTION baseline_interval_tiled() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  standing baseline_interval;
BEGIN
  IF TG_OP <> 'INSERT' AND EXISTS (SELECT FROM baseline WHERE id = OLD.baseline_id) AND NOT EXISTS (
      SELECT FROM baseline_interval WHERE baseline_id = OLD.baseline_id AND from_m <= OLD.from_m AND to_m > OLD.from_m) THEN
    PERFORM hold_baseline_tiled(OLD.baseline_id, OLD.from_m);
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN NULL; END IF;
  SELECT * INTO standing FROM baseline_interval WHERE id = NEW.id;
  IF NOT FOUND THEN RETURN NULL; END IF;
  PERFORM hold_baseline_tiled(standing.baseline_id, standing.from_m);
  PERFORM hold_baseline_tiled(standing.baseline_id, standing.to_m);
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER baseline_tiled AFTER INSERT OR UPDATE OF drive_id ON baseline
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION baseline_tiled();
CREATE CONSTRAINT TRIGGER baseline_interval_tiled AFTER INSERT OR UPDATE OR DELETE ON baseline_interval
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION baseline_interval_tiled();

-- A drive with a baseline keeps the ends that the baseline tiles.
CREATE FUNCTION drive_keeps_its_baselines() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  standing text := (SELECT min(name) FROM baseline WHERE drive_id = NEW.id);
BEGIN
  IF standing IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = format('start chainage and direction cannot change: baseline %s tiles the drive', standing);
  END IF;
  RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_tiled_by_baseline', TABLE = TG_TABLE_NAME,
    MESSAGE = format('the end of the drive cannot change: baseline %s tiles it until %s; remove it first', standing, chainage_text(OLD.end_chainage_m));
END $$;

CREATE TRIGGER drive_keeps_its_baselines AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive FOR EACH ROW
  WHEN ((OLD.start_chainage_m, OLD.end_chainage_m, OLD.direction) IS DISTINCT FROM (NEW.start_chainage_m, NEW.end_chainage_m, NEW.direction))
  EXECUTE FUNCTION drive_keeps_its_baselines();

-- ---------------------------------------------------------------------------------------------------------------
-- What time the contract gives for the ground and the quantities that were met: the rule and what it counts.
-- ---------------------------------------------------------------------------------------------------------------

CREATE TYPE "entitlement_rule" AS ENUM ('difference', 'proportional');
CREATE TYPE "entitlement_source" AS ENUM ('support_item', 'probe_metres', 'activity_hours', 'class_metres');

CREATE TABLE "entitlement" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "rule" "entitlement_rule" NOT NULL,
    "baseline_id" INTEGER,
    "tendered_weeks" DECIMAL(9,4) NOT NULL,
    "working_hours_per_week" DECIMAL(5,2) NOT NULL,
    "remark" TEXT,

    CONSTRAINT "entitlement_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "entitlement_item" (
    "id" SERIAL NOT NULL,
    "entitlement_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "line" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "source" "entitlement_source" NOT NULL,
    "reference" TEXT NOT NULL DEFAULT '',
    "hours_per_unit" DECIMAL(12,6) NOT NULL,
    "tendered_quantity" DECIMAL(14,3) NOT NULL,

    CONSTRAINT "entitlement_item_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "entitlement_drive_id_name_key" ON "entitlement"("drive_id", "name");
CREATE UNIQUE INDEX "entitlement_id_project_id_key" ON "entitlement"("id", "project_id");
CREATE INDEX "entitlement_baseline_id_idx" ON "entitlement"("baseline_id");
CREATE UNIQUE INDEX "entitlement_item_entitlement_id_code_key" ON "entitlement_item"("entitlement_id", "code");
CREATE UNIQUE INDEX "entitlement_item_entitlement_id_source_reference_key" ON "entitlement_item"("entitlement_id", "source", "reference");
ALTER TABLE "entitlement" ADD CONSTRAINT "entitlement_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "entitlement_baseline_id_project_id_fkey" FOREIGN KEY ("baseline_id", "project_id") REFERENCES "baseline"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "entitlement_item" ADD CONSTRAINT "entitlement_item_entitlement_id_project_id_fkey" FOREIGN KEY ("entitlement_id", "project_id") REFERENCES "entitlement"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE entitlement
  ADD CONSTRAINT entitlement_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT entitlement_weeks CHECK (tendered_weeks > 0),
  ADD CONSTRAINT entitlement_hours CHECK (working_hours_per_week > 0 AND working_hours_per_week <= 168);

ALTER TABLE entitlement_item
  ADD CONSTRAINT entitlement_item_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT entitlement_item_line CHECK (line > 0),
  ADD CONSTRAINT entitlement_item_quantities CHECK (hours_per_unit > 0 AND tendered_quantity >= 0),
  -- probe holes have no catalogue; everything else is found by its code
  ADD CONSTRAINT entitlement_item_reference CHECK ((source = 'probe_metres') = (reference = ''));

COMMENT ON TABLE entitlement IS 'A basis of time entitlement: the rule of the contract, its tendered time, and what is counted.';
COMMENT ON COLUMN entitlement.rule IS 'difference: tendered weeks + difference in hours / hours a week; proportional: tendered weeks x actual / tendered hours.';
COMMENT ON COLUMN entitlement.baseline_id IS 'Baseline whose advance rates give hours by class; null: items only.';
COMMENT ON TABLE entitlement_item IS 'An item of equivalent time: hours per unit, and where the actual quantity is taken from.';
COMMENT ON COLUMN entitlement_item.reference IS 'Code of the support item, activity code or ground class that the source counts; empty for probe_metres.';
COMMENT ON COLUMN entitlement_item.hours_per_unit IS 'Equivalent time of one unit. [h]';

CREATE TRIGGER project_of_drive BEFORE INSERT ON entitlement
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE FUNCTION project_of_entitlement() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  NEW.project_id := (SELECT project_id FROM entitlement WHERE id = NEW.entitlement_id);
  RETURN NEW;
END $$;

CREATE TRIGGER project_of_entitlement BEFORE INSERT ON entitlement_item
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_entitlement();

-- A basis rests on a baseline of its own drive, and its items on what the project has.
CREATE FUNCTION entitlement_of_its_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM baseline WHERE id = NEW.baseline_id AND drive_id = NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'entitlement_of_its_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('entitlement %s rests on the baseline of another drive', NEW.name);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER of_its_drive AFTER INSERT OR UPDATE ON entitlement
  FOR EACH ROW WHEN (NEW.baseline_id IS NOT NULL) EXECUTE FUNCTION entitlement_of_its_drive();

CREATE FUNCTION entitlement_item_known() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT (CASE NEW.source
      WHEN 'support_item' THEN EXISTS (SELECT FROM support_item WHERE project_id = NEW.project_id AND code = NEW.reference)
      WHEN 'activity_hours' THEN EXISTS (SELECT FROM activity_code WHERE project_id = NEW.project_id AND code = NEW.reference)
      WHEN 'class_metres' THEN EXISTS (SELECT FROM ground_class WHERE project_id = NEW.project_id AND code = NEW.reference)
      ELSE true END) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'entitlement_item_known', TABLE = TG_TABLE_NAME,
      MESSAGE = format('item %s counts %s %s, which is not in the project', NEW.code, NEW.source, NEW.reference);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER known AFTER INSERT OR UPDATE ON entitlement_item FOR EACH ROW EXECUTE FUNCTION entitlement_item_known();

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['baseline', 'baseline_interval', 'entitlement', 'entitlement_item']) t;
