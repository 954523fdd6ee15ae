-- ---------------------------------------------------------------------------------------------------------------
-- Machine samples: what the machine's instruments said, at 0.1 to 1 Hz. Raw: added to and never edited, and so not kept
-- in history. Partitioned by month of time (UTC), so that old months can leave whole.
-- ---------------------------------------------------------------------------------------------------------------

CREATE TABLE "machine_sample" (
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "at" TIMESTAMPTZ(3) NOT NULL,
    "position_m" DECIMAL(9,3) NOT NULL,
    "thrust_kn" DOUBLE PRECISION,
    "torque_knm" DOUBLE PRECISION,
    "rotation_rpm" DOUBLE PRECISION,
    "penetration_rate_mm_per_min" DOUBLE PRECISION,
    "gripper_pressure_bar" DOUBLE PRECISION,
    "muck_flow_t_per_h" DOUBLE PRECISION,

    CONSTRAINT "machine_sample_pkey" PRIMARY KEY ("drive_id", "at")
) PARTITION BY RANGE ("at");

ALTER TABLE "machine_sample" ADD CONSTRAINT "machine_sample_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE machine_sample
  ADD CONSTRAINT machine_sample_position CHECK (position_m >= 0),
  -- NaN and infinity are beyond these bounds too
  ADD CONSTRAINT machine_sample_readings CHECK (
    thrust_kn BETWEEN 0 AND 1e6 AND torque_knm BETWEEN 0 AND 1e6 AND rotation_rpm BETWEEN 0 AND 100
    AND penetration_rate_mm_per_min BETWEEN 0 AND 1000 AND gripper_pressure_bar BETWEEN 0 AND 2000
    AND muck_flow_t_per_h BETWEEN 0 AND 20000);

COMMENT ON TABLE machine_sample IS 'Raw machine data, a row a moment; partitions by month. Added to, never edited, not in history.';
COMMENT ON COLUMN machine_sample.at IS 'Moment of the sample, by the machine''s clock.';
COMMENT ON COLUMN machine_sample.position_m IS 'Driven metres of the head, to the millimetre. [m]';
COMMENT ON COLUMN machine_sample.thrust_kn IS 'Force of all thrust cylinders. [kN]';
COMMENT ON COLUMN machine_sample.torque_knm IS 'Cutterhead torque. [kNm]';
COMMENT ON COLUMN machine_sample.rotation_rpm IS 'Rotational speed of the head. [1/min]';
COMMENT ON COLUMN machine_sample.penetration_rate_mm_per_min IS 'Speed of the head along the axis. [mm/min]';
COMMENT ON COLUMN machine_sample.gripper_pressure_bar IS 'Pressure in the gripper cylinders. [bar]';
COMMENT ON COLUMN machine_sample.muck_flow_t_per_h IS 'Mass flow over the belt weigher. [t/h]';

CREATE TRIGGER project_of_drive BEFORE INSERT ON machine_sample FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

SELECT hold_to_scope('machine_sample');
REVOKE UPDATE, DELETE, TRUNCATE ON machine_sample FROM drivebook_app;

-- As of a moment the samples are those known now: they have one version. A column added to the table is added here too.
CREATE VIEW as_of.machine_sample WITH (security_invoker = true) AS SELECT * FROM public.machine_sample;
COMMENT ON VIEW as_of.machine_sample IS 'The machine samples as known now: raw data has one version.';
GRANT SELECT ON as_of.machine_sample TO drivebook_app;

-- The partition of a month, made when it is needed. Attached, not created in place: readers of the other months are not
-- waited for. The service's role has no right on a partition itself; the policies hold it there all the same.
CREATE FUNCTION make_sample_month(p_day date) RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  month date := make_date(extract(year FROM p_day)::int, extract(month FROM p_day)::int, 1);
  name text := 'machine_sample_' || to_char(month, 'YYYY_MM');
BEGIN
  IF month < '2000-01-01' OR month > '2099-12-01' THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'sample_years', TABLE = 'machine_sample',
      MESSAGE = format('samples are of the years 2000 to 2099, not of %s', p_day);
  END IF;
  IF to_regclass('public.' || name) IS NOT NULL THEN RETURN; END IF;
  PERFORM pg_advisory_xact_lock(hashtext('drivebook.sample_month'), 0);
  IF to_regclass('public.' || name) IS NOT NULL THEN RETURN; END IF; -- another has made it meanwhile
  EXECUTE format('CREATE TABLE public.%I (LIKE public.machine_sample INCLUDING ALL)', name);
  EXECUTE format('ALTER TABLE public.%I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', name);
  EXECUTE format('CREATE POLICY in_scope ON public.%I USING (project_id = (SELECT scope_project()))', name);
  EXECUTE format('CREATE POLICY owner ON public.%I TO CURRENT_USER USING (true)', name);
  EXECUTE format('REVOKE ALL ON public.%I FROM PUBLIC, drivebook_app', name);
  EXECUTE format('ALTER TABLE public.machine_sample ATTACH PARTITION public.%I FOR VALUES FROM (%L) TO (%L)', name,
    month::timestamptz, (month + interval '1 month')::timestamptz);
END $$;

REVOKE EXECUTE ON FUNCTION make_sample_month FROM PUBLIC;
GRANT EXECUTE ON FUNCTION make_sample_month TO drivebook_app;

-- Samples are driven metres from the drive's start, as the record is.
CREATE FUNCTION drive_keeps_its_samples() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF EXISTS (SELECT FROM machine_sample WHERE drive_id = NEW.id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = 'drive',
      MESSAGE = 'start chainage and direction cannot change: the drive has machine samples';
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_samples AFTER UPDATE OF start_chainage_m, direction ON drive FOR EACH ROW
  WHEN ((OLD.start_chainage_m, OLD.direction) IS DISTINCT FROM (NEW.start_chainage_m, NEW.direction)) EXECUTE FUNCTION drive_keeps_its_samples();

-- ---------------------------------------------------------------------------------------------------------------
-- Strokes that the samples of a span propose. What is proposed stands as it was computed; accepting books it, once.
-- ---------------------------------------------------------------------------------------------------------------

CREATE TABLE "stroke_proposal" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "number" INTEGER NOT NULL,
    "from_at" TIMESTAMPTZ(3) NOT NULL,
    "to_at" TIMESTAMPTZ(3) NOT NULL,
    "sample_count" INTEGER NOT NULL,
    "thresholds" JSONB NOT NULL,
    "borings" JSONB NOT NULL,
    "regrips" JSONB NOT NULL,
    "remarks" JSONB NOT NULL,
    "digest" CHAR(64) NOT NULL,
    "proposed_by" TEXT NOT NULL DEFAULT acting_subject(),
    "proposed_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "accepted_by" TEXT,
    "accepted_at" TIMESTAMPTZ(3),

    CONSTRAINT "stroke_proposal_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "stroke_proposal_drive_id_number_key" ON "stroke_proposal"("drive_id", "number");
ALTER TABLE "stroke_proposal" ADD CONSTRAINT "stroke_proposal_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE stroke_proposal
  ADD CONSTRAINT stroke_proposal_number CHECK (number > 0),
  ADD CONSTRAINT stroke_proposal_span CHECK (to_at > from_at AND to_at - from_at <= interval '31 days'),
  ADD CONSTRAINT stroke_proposal_samples CHECK (sample_count > 0),
  ADD CONSTRAINT stroke_proposal_findings CHECK (
    jsonb_typeof(thresholds) = 'object' AND jsonb_typeof(borings) = 'array' AND jsonb_typeof(regrips) = 'array' AND jsonb_typeof(remarks) = 'array'),
  ADD CONSTRAINT stroke_proposal_accepted CHECK ((accepted_by IS NULL) = (accepted_at IS NULL));

COMMENT ON TABLE stroke_proposal IS 'Strokes that the machine samples of a span propose, with the thresholds by which they were found.';
COMMENT ON COLUMN stroke_proposal.borings IS 'The borings along the drive: stroke (1, 2, … of this proposal), fromM and toM [m], startedAt, endedAt, sampleCount, means of the readings in the units of their names, muckMassT [t].';
COMMENT ON COLUMN stroke_proposal.regrips IS 'Times with loose grippers: startedAt, endedAt, positionM [m].';
COMMENT ON COLUMN stroke_proposal.remarks IS 'What a reader must know besides: what, at, positionM [m], lengthMm [mm], durationS [s], sampleCount.';
COMMENT ON COLUMN stroke_proposal.digest IS 'SHA-256 of span, thresholds and findings; the entity tag comes of it.';

CREATE TRIGGER project_of_drive BEFORE INSERT ON stroke_proposal FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

-- After the row: row-level security and foreign keys speak first.
CREATE FUNCTION stroke_proposal_stands() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF OLD.accepted_at IS NOT NULL AND (TG_OP = 'DELETE' OR NEW IS DISTINCT FROM OLD) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'stroke_proposal_accepted_once', TABLE = 'stroke_proposal',
      MESSAGE = format('proposal %s was accepted by %s at %s: it stands', OLD.number, OLD.accepted_by, OLD.accepted_at);
  END IF;
  IF TG_OP = 'UPDATE' AND (to_jsonb(NEW) - ARRAY['accepted_by', 'accepted_at']) <> (to_jsonb(OLD) - ARRAY['accepted_by', 'accepted_at']) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'stroke_proposal_stands', TABLE = 'stroke_proposal',
      MESSAGE = format('proposal %s stands as it was computed: make another', OLD.number);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER stroke_proposal_stands AFTER UPDATE OR DELETE ON stroke_proposal FOR EACH ROW EXECUTE FUNCTION stroke_proposal_stands();

SELECT hold_to_scope('stroke_proposal'), history.keep('stroke_proposal');
