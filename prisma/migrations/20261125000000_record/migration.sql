-- Exclusion constraints over a drive and a range need btree operators in GiST.
CREATE EXTENSION IF NOT EXISTS btree_gist;

-- CreateEnum
CREATE TYPE "shift_state" AS ENUM ('draft', 'submitted');

-- CreateEnum
CREATE TYPE "time_class" AS ENUM ('boring', 'regripping', 'planned_stop', 'breakdown', 'ground', 'waiting', 'outside_working_time');

-- CreateEnum
CREATE TYPE "responsible_party" AS ENUM ('contractor', 'employer', 'third_party');

-- CreateEnum
CREATE TYPE "support_kind" AS ENUM ('bolt', 'mesh', 'rib', 'sprayed_concrete');

-- CreateEnum
CREATE TYPE "support_unit" AS ENUM ('nr', 'm2', 'm3');

-- CreateEnum
CREATE TYPE "support_zone" AS ENUM ('L1', 'L2');

-- CreateTable
CREATE TABLE "project" (
    "id" SERIAL NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "time_zone" TEXT NOT NULL,
    "day_start" TEXT NOT NULL DEFAULT '00:00',
    "currency" CHAR(3) NOT NULL,

    CONSTRAINT "project_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "calendar_shift" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "name" TEXT NOT NULL,
    "start_time" TEXT NOT NULL,
    "end_time" TEXT NOT NULL,
    "weekdays" SMALLINT[],

    CONSTRAINT "calendar_shift_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "activity_code" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "description" TEXT NOT NULL,
    "counts_as" "time_class" NOT NULL,

    CONSTRAINT "activity_code_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ground_class" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "description" TEXT NOT NULL,

    CONSTRAINT "ground_class_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "support_item" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "kind" "support_kind" NOT NULL,
    "unit" "support_unit" NOT NULL,
    "description" TEXT NOT NULL,
    "length_m" DECIMAL(6,3),
    "capacity_kn" DECIMAL(9,3),
    "profile" TEXT,
    "mass_kg_per_m" DECIMAL(9,3),
    "mass_kg_per_m2" DECIMAL(9,3),
    "mix" TEXT,

    CONSTRAINT "support_item_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "machine" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "disc_count" INTEGER NOT NULL,
    "disc_radius_mm" DECIMAL(7,3) NOT NULL,
    "rated_disc_load_kn" DECIMAL(9,3),
    "stroke_length_m" DECIMAL(6,3),
    "installed_power_kw" DECIMAL(9,3),
    "rated_thrust_kn" DECIMAL(10,3),
    "rated_torque_knm" DECIMAL(10,3),
    "friction_kn" DECIMAL(10,3),
    "idle_torque_knm" DECIMAL(10,3),
    "torque_ratio_lower" DECIMAL(6,4),
    "torque_ratio_upper" DECIMAL(6,4),

    CONSTRAINT "machine_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "drive" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "machine_id" INTEGER,
    "start_chainage_m" DECIMAL(10,3) NOT NULL,
    "end_chainage_m" DECIMAL(10,3) NOT NULL,
    "direction" SMALLINT NOT NULL,
    "bored_diameter_m" DECIMAL(6,3) NOT NULL,

    CONSTRAINT "drive_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "shift" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "shift_date" DATE NOT NULL,
    "calendar_shift_id" INTEGER NOT NULL,
    "starts_at" TIMESTAMPTZ(3) NOT NULL,
    "ends_at" TIMESTAMPTZ(3) NOT NULL,
    "state" "shift_state" NOT NULL,
    "crew_lead" TEXT,
    "remark" TEXT,
    "digest" CHAR(64) NOT NULL,

    CONSTRAINT "shift_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "boring" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "shift_id" INTEGER,
    "stroke_number" INTEGER NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "started_at" TIMESTAMPTZ(3),
    "ended_at" TIMESTAMPTZ(3),
    "thrust_kn" DOUBLE PRECISION,
    "torque_knm" DOUBLE PRECISION,
    "rotation_rpm" DOUBLE PRECISION,
    "penetration_mm_per_rev" DOUBLE PRECISION,
    "gripper_pressure_bar" DOUBLE PRECISION,
    "muck_mass_t" DECIMAL(9,3),
    "penetration_rate_m_per_h" DOUBLE PRECISION,
    "thrust_per_disc_kn" DOUBLE PRECISION,
    "field_penetration_index" DOUBLE PRECISION,
    "specific_energy_mj_per_m3" DOUBLE PRECISION,
    "theoretical_torque_knm" DOUBLE PRECISION,
    "torque_ratio" DOUBLE PRECISION,
    "regular_advance" BOOLEAN,

    CONSTRAINT "boring_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "activity" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "shift_id" INTEGER NOT NULL,
    "started_at" TIMESTAMPTZ(3) NOT NULL,
    "ended_at" TIMESTAMPTZ(3) NOT NULL,
    "activity_code_id" INTEGER NOT NULL,
    "responsible_party" "responsible_party",
    "remark" TEXT,

    CONSTRAINT "activity_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ground_interval" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "shift_id" INTEGER NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "ground_class_id" INTEGER NOT NULL,
    "lithology" TEXT,
    "remark" TEXT,

    CONSTRAINT "ground_interval_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "support_installed" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "shift_id" INTEGER NOT NULL,
    "line" INTEGER NOT NULL,
    "support_item_id" INTEGER NOT NULL,
    "unit" "support_unit" NOT NULL,
    "zone" "support_zone" NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "arc_from_deg" DECIMAL(6,2),
    "arc_to_deg" DECIMAL(6,2),
    "thickness_mm" DECIMAL(7,2),
    "installed_at" TIMESTAMPTZ(3),
    "remark" TEXT,

    CONSTRAINT "support_installed_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "probe_hole" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "name" TEXT NOT NULL,
    "collar_m" DECIMAL(9,3) NOT NULL,
    "face_m" DECIMAL(9,3),
    "position_deg" DECIMAL(6,2),
    "look_out_deg" DECIMAL(5,2) NOT NULL,
    "length_m" DECIMAL(7,3) NOT NULL,
    "water_inflow_l_per_min" DECIMAL(10,2),
    "water_depth_m" DECIMAL(7,3),
    "drilled_at" TIMESTAMPTZ(3),
    "remark" TEXT,
    "axial_reach_m" DECIMAL(7,3) NOT NULL,
    "radial_spread_m" DECIMAL(7,3) NOT NULL,

    CONSTRAINT "probe_hole_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "project_code_key" ON "project"("code");

-- CreateIndex
CREATE UNIQUE INDEX "calendar_shift_project_id_name_key" ON "calendar_shift"("project_id", "name");

-- CreateIndex
CREATE UNIQUE INDEX "activity_code_project_id_code_key" ON "activity_code"("project_id", "code");

-- CreateIndex
CREATE UNIQUE INDEX "ground_class_project_id_code_key" ON "ground_class"("project_id", "code");

-- CreateIndex
CREATE UNIQUE INDEX "support_item_project_id_code_key" ON "support_item"("project_id", "code");

-- CreateIndex
CREATE UNIQUE INDEX "support_item_id_unit_key" ON "support_item"("id", "unit");

-- CreateIndex
CREATE UNIQUE INDEX "machine_project_id_code_key" ON "machine"("project_id", "code");

-- CreateIndex
CREATE UNIQUE INDEX "drive_project_id_code_key" ON "drive"("project_id", "code");

-- CreateIndex
CREATE UNIQUE INDEX "shift_drive_id_shift_date_calendar_shift_id_key" ON "shift"("drive_id", "shift_date", "calendar_shift_id");

-- CreateIndex
CREATE INDEX "boring_drive_id_stroke_number_idx" ON "boring"("drive_id", "stroke_number");

-- CreateIndex
CREATE INDEX "boring_shift_id_idx" ON "boring"("shift_id");

-- CreateIndex
CREATE UNIQUE INDEX "boring_drive_id_from_m_key" ON "boring"("drive_id", "from_m");

-- CreateIndex
CREATE UNIQUE INDEX "boring_drive_id_to_m_key" ON "boring"("drive_id", "to_m");

-- CreateIndex
CREATE INDEX "activity_activity_code_id_idx" ON "activity"("activity_code_id");

-- CreateIndex
CREATE UNIQUE INDEX "activity_shift_id_started_at_key" ON "activity"("shift_id", "started_at");

-- CreateIndex
CREATE INDEX "ground_interval_shift_id_idx" ON "ground_interval"("shift_id");

-- CreateIndex
CREATE INDEX "ground_interval_ground_class_id_idx" ON "ground_interval"("ground_class_id");

-- CreateIndex
CREATE UNIQUE INDEX "ground_interval_drive_id_from_m_key" ON "ground_interval"("drive_id", "from_m");

-- CreateIndex
CREATE INDEX "support_installed_drive_id_from_m_idx" ON "support_installed"("drive_id", "from_m");

-- CreateIndex
CREATE INDEX "support_installed_support_item_id_unit_idx" ON "support_installed"("support_item_id", "unit");

-- CreateIndex
CREATE UNIQUE INDEX "support_installed_shift_id_line_key" ON "support_installed"("shift_id", "line");

-- CreateIndex
CREATE UNIQUE INDEX "probe_hole_drive_id_name_key" ON "probe_hole"("drive_id", "name");

-- AddForeignKey
ALTER TABLE "calendar_shift" ADD CONSTRAINT "calendar_shift_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "activity_code" ADD CONSTRAINT "activity_code_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ground_class" ADD CONSTRAINT "ground_class_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "support_item" ADD CONSTRAINT "support_item_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "machine" ADD CONSTRAINT "machine_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "drive" ADD CONSTRAINT "drive_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "drive" ADD CONSTRAINT "drive_machine_id_fkey" FOREIGN KEY ("machine_id") REFERENCES "machine"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "shift" ADD CONSTRAINT "shift_drive_id_fkey" FOREIGN KEY ("drive_id") REFERENCES "drive"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "shift" ADD CONSTRAINT "shift_calendar_shift_id_fkey" FOREIGN KEY ("calendar_shift_id") REFERENCES "calendar_shift"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "boring" ADD CONSTRAINT "boring_drive_id_fkey" FOREIGN KEY ("drive_id") REFERENCES "drive"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "boring" ADD CONSTRAINT "boring_shift_id_fkey" FOREIGN KEY ("shift_id") REFERENCES "shift"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "activity" ADD CONSTRAINT "activity_drive_id_fkey" FOREIGN KEY ("drive_id") REFERENCES "drive"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "activity" ADD CONSTRAINT "activity_shift_id_fkey" FOREIGN KEY ("shift_id") REFERENCES "shift"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "activity" ADD CONSTRAINT "activity_activity_code_id_fkey" FOREIGN KEY ("activity_code_id") REFERENCES "activity_code"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ground_interval" ADD CONSTRAINT "ground_interval_drive_id_fkey" FOREIGN KEY ("drive_id") REFERENCES "drive"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ground_interval" ADD CONSTRAINT "ground_interval_shift_id_fkey" FOREIGN KEY ("shift_id") REFERENCES "shift"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ground_interval" ADD CONSTRAINT "ground_interval_ground_class_id_fkey" FOREIGN KEY ("ground_class_id") REFERENCES "ground_class"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "support_installed" ADD CONSTRAINT "support_installed_drive_id_fkey" FOREIGN KEY ("drive_id") REFERENCES "drive"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "support_installed" ADD CONSTRAINT "support_installed_shift_id_fkey" FOREIGN KEY ("shift_id") REFERENCES "shift"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "support_installed" ADD CONSTRAINT "support_installed_support_item_id_unit_fkey" FOREIGN KEY ("support_item_id", "unit") REFERENCES "support_item"("id", "unit") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "probe_hole" ADD CONSTRAINT "probe_hole_drive_id_fkey" FOREIGN KEY ("drive_id") REFERENCES "drive"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- ---------------------------------------------------------------------------------------------------------------
-- Rules of one row
-- ---------------------------------------------------------------------------------------------------------------

ALTER TABLE project
  ADD CONSTRAINT project_time_zone_known CHECK (timezone(time_zone, timestamptz 'epoch') IS NOT NULL),
  ADD CONSTRAINT project_day_start_time CHECK (day_start ~ '^([01]\d|2[0-3]):[0-5]\d$'),
  ADD CONSTRAINT project_currency_iso CHECK (currency ~ '^[A-Z]{3}$');

ALTER TABLE calendar_shift
  ADD CONSTRAINT calendar_shift_times CHECK (start_time ~ '^([01]\d|2[0-3]):[0-5]\d$' AND end_time ~ '^([01]\d|2[0-3]):[0-5]\d$'),
  ADD CONSTRAINT calendar_shift_weekdays CHECK (weekdays IS NOT NULL AND weekdays <@ '{1,2,3,4,5,6,7}'::smallint[] AND cardinality(weekdays) > 0);

ALTER TABLE machine
  ADD CONSTRAINT machine_discs CHECK (disc_count > 0 AND disc_radius_mm > 0),
  ADD CONSTRAINT machine_not_negative CHECK (
    rated_disc_load_kn > 0 AND stroke_length_m > 0 AND installed_power_kw > 0 AND rated_thrust_kn > 0
    AND rated_torque_knm > 0 AND friction_kn >= 0 AND idle_torque_knm >= 0),
  ADD CONSTRAINT machine_torque_ratio_bounds CHECK (torque_ratio_lower >= 0 AND torque_ratio_upper > torque_ratio_lower);

ALTER TABLE support_item
  ADD CONSTRAINT support_item_unit_of_kind CHECK (CASE kind
    WHEN 'bolt' THEN unit = 'nr'
    WHEN 'rib' THEN unit = 'nr'
    WHEN 'mesh' THEN unit = 'm2'
    WHEN 'sprayed_concrete' THEN unit IN ('m2', 'm3') END),
  ADD CONSTRAINT support_item_not_negative CHECK (
    length_m > 0 AND capacity_kn > 0 AND mass_kg_per_m > 0 AND mass_kg_per_m2 > 0);

ALTER TABLE drive
  ADD CONSTRAINT drive_direction CHECK (direction IN (1, -1)),
  ADD CONSTRAINT drive_chainage_runs_with_direction CHECK ((end_chainage_m - start_chainage_m) * direction > 0),
  ADD CONSTRAINT drive_bored_diameter CHECK (bored_diameter_m > 0);

ALTER TABLE shift
  ADD CONSTRAINT shift_hours CHECK (ends_at > starts_at AND ends_at - starts_at <= interval '25 hours');

ALTER TABLE boring
  ADD CONSTRAINT boring_has_length CHECK (from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT boring_stroke_number CHECK (stroke_number >= 0),
  ADD CONSTRAINT boring_times CHECK ((started_at IS NULL) = (ended_at IS NULL) AND (started_at IS NULL OR ended_at > started_at)),
  ADD CONSTRAINT boring_of_a_shift_is_timed CHECK (shift_id IS NULL OR started_at IS NOT NULL),
  -- 0 or at least 1e-6: quotients of what is smaller have no bound
  ADD CONSTRAINT boring_readings CHECK (
    (thrust_kn = 0 OR thrust_kn BETWEEN 1e-6 AND 1e6) AND (torque_knm = 0 OR torque_knm BETWEEN 1e-6 AND 1e6)
    AND (rotation_rpm = 0 OR rotation_rpm BETWEEN 1e-6 AND 100)
    AND (penetration_mm_per_rev = 0 OR penetration_mm_per_rev BETWEEN 1e-6 AND 100)
    AND (gripper_pressure_bar = 0 OR gripper_pressure_bar BETWEEN 1e-6 AND 2000) AND muck_mass_t >= 0);

ALTER TABLE activity
  ADD CONSTRAINT activity_times CHECK (ended_at > started_at);

ALTER TABLE ground_interval
  ADD CONSTRAINT ground_interval_has_length CHECK (from_m >= 0 AND to_m > from_m);

ALTER TABLE support_installed
  ADD CONSTRAINT support_installed_place CHECK (from_m >= 0 AND to_m >= from_m),
  ADD CONSTRAINT support_installed_quantity CHECK (quantity > 0 AND (unit <> 'nr' OR quantity = trunc(quantity))),
  ADD CONSTRAINT support_installed_arc CHECK (
    (arc_from_deg IS NULL) = (arc_to_deg IS NULL) AND arc_from_deg BETWEEN 0 AND 360 AND arc_to_deg BETWEEN 0 AND 360),
  ADD CONSTRAINT support_installed_thickness CHECK (thickness_mm > 0),
  ADD CONSTRAINT support_installed_line CHECK (line > 0);

ALTER TABLE probe_hole
  ADD CONSTRAINT probe_hole_geometry CHECK (
    collar_m >= 0 AND length_m > 0 AND look_out_deg >= 0 AND look_out_deg < 90 AND position_deg BETWEEN 0 AND 360
    AND axial_reach_m >= 0 AND radial_spread_m >= 0),
  ADD CONSTRAINT probe_hole_water CHECK (water_inflow_l_per_min >= 0 AND water_depth_m BETWEEN 0 AND length_m);

-- ---------------------------------------------------------------------------------------------------------------
-- Balances: nothing twice
-- ---------------------------------------------------------------------------------------------------------------

ALTER TABLE boring
  ADD CONSTRAINT boring_metres_once EXCLUDE USING gist (drive_id WITH =, numrange(from_m, to_m) WITH &&),
  ADD CONSTRAINT boring_minutes_once EXCLUDE USING gist (drive_id WITH =, tstzrange(started_at, ended_at) WITH &&) WHERE (started_at IS NOT NULL);

ALTER TABLE activity
  ADD CONSTRAINT activity_minutes_once EXCLUDE USING gist (drive_id WITH =, tstzrange(started_at, ended_at) WITH &&);

ALTER TABLE shift
  ADD CONSTRAINT shift_minutes_once EXCLUDE USING gist (drive_id WITH =, tstzrange(starts_at, ends_at) WITH &&);

ALTER TABLE ground_interval
  ADD CONSTRAINT ground_interval_once EXCLUDE USING gist (drive_id WITH =, numrange(from_m, to_m) WITH &&);

CREATE INDEX support_installed_interval ON support_installed USING gist (drive_id, numrange(from_m, to_m, '[]'));
CREATE INDEX boring_timed ON boring (drive_id, from_m) WHERE started_at IS NOT NULL;

-- ---------------------------------------------------------------------------------------------------------------
-- Rules over several rows. SQLSTATE DB001: the record would not balance; DB002: a fixed value would move.
-- Each trigger locks the drive first, so that two writers of one drive follow each other.
-- ---------------------------------------------------------------------------------------------------------------

CREATE FUNCTION lock_drive(p_drive_id int) RETURNS void LANGUAGE sql AS $$
  SELECT FROM drive WHERE id = p_drive_id FOR NO KEY UPDATE
$$;

CREATE FUNCTION drive_length(p_drive_id int) RETURNS numeric LANGUAGE sql STABLE AS $$
  SELECT abs(end_chainage_m - start_chainage_m) FROM drive WHERE id = p_drive_id
$$;

-- 1204.31 reads 1+204.310
CREATE FUNCTION chainage_text(chainage_m numeric) RETURNS text LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT to_char(chainage_m, 'FM9999990"+"000.000')
$$;

CREATE FUNCTION chainage_at(p_drive_id int, p_m numeric) RETURNS text LANGUAGE sql STABLE AS $$
  SELECT chainage_text(start_chainage_m + direction * p_m) FROM drive WHERE id = p_drive_id
$$;

-- Boring, ground and support lie within the drive.
CREATE FUNCTION interval_within_drive() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.to_m > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, NEW.to_m),
        chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE FUNCTION collar_within_drive() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF greatest(NEW.collar_m, NEW.face_m) > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s',
        chainage_at(NEW.drive_id, greatest(NEW.collar_m, NEW.face_m)), chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON boring FOR EACH ROW EXECUTE FUNCTION interval_within_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON ground_interval FOR EACH ROW EXECUTE FUNCTION interval_within_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON support_installed FOR EACH ROW EXECUTE FUNCTION interval_within_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON probe_hole FOR EACH ROW EXECUTE FUNCTION collar_within_drive();

-- A drive with a record keeps its start and direction, and does not end before its record.
CREATE FUNCTION drive_keeps_its_record() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  furthest numeric := greatest(
    (SELECT max(to_m) FROM boring WHERE drive_id = NEW.id), (SELECT max(to_m) FROM ground_interval WHERE drive_id = NEW.id),
    (SELECT max(to_m) FROM support_installed WHERE drive_id = NEW.id), (SELECT max(collar_m) FROM probe_hole WHERE drive_id = NEW.id));
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed',
      MESSAGE = 'start chainage and direction cannot change: the drive has a record';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_record',
      MESSAGE = format('the drive cannot end before %s, where its record stands', chainage_at(OLD.id, furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_record AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_record();

-- What a code counts as is fixed once time is booked on it: the shifts' boring time rests on it.
CREATE FUNCTION activity_code_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF EXISTS (SELECT FROM activity WHERE activity_code_id = NEW.id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'activity_code_fixed',
      MESSAGE = format('code %s counts as %s and has time booked on it: use a new code', OLD.code, OLD.counts_as);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER activity_code_fixed AFTER UPDATE ON activity_code
  FOR EACH ROW WHEN (OLD.counts_as IS DISTINCT FROM NEW.counts_as) EXECUTE FUNCTION activity_code_fixed();

-- Minutes. A submitted shift is tiled by its activities (they overlap nothing and lie inside, so equal sums tile it),
-- and its boring time is the boring time of its strokes.
CREATE FUNCTION hold_shift_minutes(p_shift_id int) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  s shift;
  booked interval;
  booked_boring interval;
  bored interval;
BEGIN
  SELECT * INTO s FROM shift WHERE id = p_shift_id;
  IF s.state IS DISTINCT FROM 'submitted' THEN RETURN; END IF;
  SELECT coalesce(sum(a.ended_at - a.started_at), '0'), coalesce(sum(a.ended_at - a.started_at) FILTER (WHERE c.counts_as = 'boring'), '0')
    INTO booked, booked_boring FROM activity a JOIN activity_code c ON c.id = a.activity_code_id WHERE a.shift_id = s.id;
  IF booked <> s.ends_at - s.starts_at THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'shift_minutes_tiled', TABLE = 'activity',
      MESSAGE = format('a submitted shift needs every minute: %s booked of %s', booked, s.ends_at - s.starts_at);
  END IF;
  SELECT coalesce(sum(ended_at - started_at), '0') INTO bored FROM boring WHERE shift_id = s.id;
  IF bored <> booked_boring THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'shift_boring_time', TABLE = 'activity',
      MESSAGE = format('boring time differs: %s in the activities, %s in the strokes', booked_boring, bored);
  END IF;
END $$;

-- Metres. Behind a submitted boring nothing is missing. What lies behind an earlier submitted boring is held already,
-- so only the metres since then are added up.
CREATE FUNCTION hold_metres_behind(p_drive_id int, p_m numeric) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  held numeric;
  bored numeric;
  gap record;
BEGIN
  SELECT b.to_m INTO held FROM boring b JOIN shift s ON s.id = b.shift_id
    WHERE b.drive_id = p_drive_id AND b.to_m <= p_m AND s.state = 'submitted' ORDER BY b.to_m DESC LIMIT 1;
  held := coalesce(held, 0);
  SELECT coalesce(sum(to_m - from_m), 0) INTO bored FROM boring WHERE drive_id = p_drive_id
    AND from_m >= held AND from_m < p_m AND to_m > held AND to_m <= p_m; -- both bounds on both, whichever index is taken
  IF bored = p_m - held THEN RETURN; END IF;
  SELECT * INTO gap FROM (
    SELECT stroke_number, from_m, lag(to_m, 1, held) OVER (ORDER BY from_m) AS face_m FROM boring
      WHERE drive_id = p_drive_id AND from_m BETWEEN held AND p_m) AS ahead
    WHERE face_m < from_m ORDER BY from_m LIMIT 1;
  RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'metres_contiguous', TABLE = 'boring',
    MESSAGE = format('stroke %s starts at %s, but the face stood at %s: %s m missing', gap.stroke_number,
      chainage_at(p_drive_id, gap.from_m), chainage_at(p_drive_id, gap.face_m), gap.from_m - gap.face_m);
END $$;

CREATE FUNCTION shift_balances() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  b boring;
BEGIN
  PERFORM lock_drive(NEW.drive_id);
  PERFORM hold_shift_minutes(NEW.id);
  FOR b IN SELECT * FROM boring WHERE shift_id = NEW.id ORDER BY from_m LOOP
    IF b.started_at < NEW.starts_at OR b.ended_at > NEW.ends_at THEN
      RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'boring_inside_shift', TABLE = 'boring',
        MESSAGE = format('a boring of stroke %s lies outside its shift', b.stroke_number);
    END IF;
    IF NEW.state = 'submitted' THEN PERFORM hold_metres_behind(NEW.drive_id, b.from_m); END IF;
  END LOOP;
  IF EXISTS (SELECT FROM activity WHERE shift_id = NEW.id AND (started_at < NEW.starts_at OR ended_at > NEW.ends_at)) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'activity_inside_shift', TABLE = 'activity',
      MESSAGE = 'an activity lies outside its shift';
  END IF;
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER shift_balances AFTER INSERT OR UPDATE ON shift
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION shift_balances();

CREATE FUNCTION activity_balances() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM lock_drive(coalesce(NEW.drive_id, OLD.drive_id));
  IF TG_OP <> 'INSERT' THEN PERFORM hold_shift_minutes(OLD.shift_id); END IF;
  IF TG_OP = 'DELETE' OR NOT EXISTS (SELECT FROM activity WHERE id = NEW.id) THEN RETURN NULL; END IF;
  IF NOT EXISTS (SELECT FROM shift s WHERE s.id = NEW.shift_id AND s.drive_id = NEW.drive_id
      AND NEW.started_at >= s.starts_at AND NEW.ended_at <= s.ends_at) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'activity_inside_shift', TABLE = 'activity',
      MESSAGE = format('the activity %s to %s lies outside its shift', NEW.started_at, NEW.ended_at);
  END IF;
  PERFORM hold_shift_minutes(NEW.shift_id);
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER activity_balances AFTER INSERT OR UPDATE OR DELETE ON activity
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION activity_balances();

-- A boring lies inside its shift; along the drive, times and stroke numbers only rise.
CREATE FUNCTION hold_boring_order(b boring) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  other boring;
BEGIN
  IF b.shift_id IS NOT NULL AND NOT EXISTS (SELECT FROM shift s WHERE s.id = b.shift_id AND s.drive_id = b.drive_id
      AND b.started_at >= s.starts_at AND b.ended_at <= s.ends_at) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'boring_inside_shift', TABLE = 'boring',
      MESSAGE = format('a boring of stroke %s lies outside its shift', b.stroke_number);
  END IF;
  SELECT * INTO other FROM boring WHERE drive_id = b.drive_id AND from_m < b.from_m ORDER BY from_m DESC LIMIT 1;
  IF other.stroke_number > b.stroke_number THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'stroke_numbers_rise', TABLE = 'boring',
      MESSAGE = format('stroke %s lies ahead of stroke %s', b.stroke_number, other.stroke_number);
  END IF;
  SELECT * INTO other FROM boring WHERE drive_id = b.drive_id AND from_m > b.from_m ORDER BY from_m LIMIT 1;
  IF other.stroke_number < b.stroke_number THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'stroke_numbers_rise', TABLE = 'boring',
      MESSAGE = format('stroke %s lies ahead of stroke %s', other.stroke_number, b.stroke_number);
  END IF;
  IF b.started_at IS NULL THEN RETURN; END IF;
  SELECT * INTO other FROM boring WHERE drive_id = b.drive_id AND from_m < b.from_m AND started_at IS NOT NULL ORDER BY from_m DESC LIMIT 1;
  IF other.ended_at > b.started_at THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'boring_times_rise', TABLE = 'boring',
      MESSAGE = format('stroke %s lies ahead of stroke %s but was bored before it', b.stroke_number, other.stroke_number);
  END IF;
  SELECT * INTO other FROM boring WHERE drive_id = b.drive_id AND from_m > b.from_m AND started_at IS NOT NULL ORDER BY from_m LIMIT 1;
  IF other.started_at < b.ended_at THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'boring_times_rise', TABLE = 'boring',
      MESSAGE = format('stroke %s lies ahead of stroke %s but was bored before it', other.stroke_number, b.stroke_number);
  END IF;
END $$;

CREATE FUNCTION boring_balances() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  standing boring;
  filled numeric;
BEGIN
  PERFORM lock_drive(coalesce(NEW.drive_id, OLD.drive_id));
  IF TG_OP <> 'INSERT' THEN
    PERFORM hold_shift_minutes(OLD.shift_id);
    IF EXISTS (SELECT FROM boring b JOIN shift s ON s.id = b.shift_id
        WHERE b.drive_id = OLD.drive_id AND b.from_m >= OLD.to_m AND s.state = 'submitted') THEN
      SELECT coalesce(sum(least(to_m, OLD.to_m) - greatest(from_m, OLD.from_m)), 0) INTO filled FROM boring
        WHERE drive_id = OLD.drive_id AND numrange(from_m, to_m) && numrange(OLD.from_m, OLD.to_m);
      IF filled <> (OLD.to_m - OLD.from_m) THEN
        RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'metres_contiguous', TABLE = 'boring',
          MESSAGE = format('%s m would be missing between %s and %s behind a submitted stroke', (OLD.to_m - OLD.from_m) - filled,
            chainage_at(OLD.drive_id, OLD.from_m), chainage_at(OLD.drive_id, OLD.to_m));
      END IF;
    END IF;
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN NULL; END IF;
  SELECT * INTO standing FROM boring WHERE id = NEW.id;
  IF NOT FOUND THEN RETURN NULL; END IF;
  PERFORM hold_boring_order(standing);
  PERFORM hold_shift_minutes(standing.shift_id);
  IF EXISTS (SELECT FROM shift WHERE id = standing.shift_id AND state = 'submitted') THEN
    PERFORM hold_metres_behind(standing.drive_id, standing.from_m);
  END IF;
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER boring_balances
  AFTER INSERT OR DELETE OR UPDATE OF drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at ON boring
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION boring_balances();
