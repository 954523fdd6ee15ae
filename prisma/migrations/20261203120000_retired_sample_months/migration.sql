-- compatible: older builds keep working
-- Months of machine samples that were taken out of the record: their samples are in no reading, and none are taken any
-- more. The rows are of the installation, not of a project, and are the owner's alone; who asks asks by the functions.
CREATE SCHEMA IF NOT EXISTS _drivebook;

CREATE TABLE _drivebook.retired_sample_month (
  month date PRIMARY KEY CHECK (extract(day FROM month) = 1),
  detached_at timestamptz(3) NOT NULL DEFAULT clock_timestamp(),
  detached_by text NOT NULL,
  -- the newest archive that was written of it
  archived_at timestamptz(3),
  archived_rows bigint,
  archived_sha256 char(64),
  dropped_at timestamptz(3),
  CHECK ((archived_at IS NULL) = (archived_rows IS NULL) AND (archived_at IS NULL) = (archived_sha256 IS NULL)),
  CHECK (dropped_at IS NULL OR archived_at IS NOT NULL)
);

COMMENT ON TABLE _drivebook.retired_sample_month IS 'Months (UTC) whose machine samples were taken out of the record; by drivebook samples.';

-- The retired months that a span of time meets, each by its first day.
CREATE FUNCTION retired_sample_months(p_from timestamptz, p_to timestamptz) RETURNS SETOF date LANGUAGE sql STABLE SECURITY DEFINER
SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
  SELECT month FROM _drivebook.retired_sample_month
  WHERE month::timestamptz < coalesce(p_to, 'infinity') AND (month + interval '1 month')::timestamptz > coalesce(p_from, '-infinity')
  ORDER BY month
$$;

REVOKE EXECUTE ON FUNCTION retired_sample_months FROM PUBLIC;
GRANT EXECUTE ON FUNCTION retired_sample_months TO drivebook_app;

-- As before, and no table is made for a retired month: what would go into it is refused with a sentence.
CREATE OR REPLACE FUNCTION make_sample_month(p_day date) RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  first_day date := make_date(extract(year FROM p_day)::int, extract(month FROM p_day)::int, 1);
  name text := 'machine_sample_' || to_char(first_day, 'YYYY_MM');
BEGIN
  IF first_day < '2000-01-01' OR first_day > '2099-12-01' THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'sample_years', TABLE = 'machine_sample',
      MESSAGE = format('samples are of the years 2000 to 2099, not of %s', p_day);
  END IF;
  IF EXISTS (SELECT FROM _drivebook.retired_sample_month r WHERE r.month = first_day) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'sample_month_retired', TABLE = 'machine_sample',
      MESSAGE = format('the machine samples of %s are retired: no more are taken', to_char(first_day, 'YYYY-MM'));
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
    first_day::timestamptz, (first_day + interval '1 month')::timestamptz);
END $$;
