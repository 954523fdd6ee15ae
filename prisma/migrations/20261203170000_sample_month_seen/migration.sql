-- compatible: older builds keep working
-- Two that need the table of one month at once: the second waits for the first, and then has to see its table. It asks
-- pg_inherits in a statement of its own: to_regclass() answers from the session's cache of names, which waiting for an
-- advisory lock does not refresh, and the second made the table again (42P07).
CREATE OR REPLACE FUNCTION make_sample_month(p_day date) RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  first_day date := make_date(extract(year FROM p_day)::int, extract(month FROM p_day)::int, 1);
  name text := 'machine_sample_' || to_char(first_day, 'YYYY_MM');
BEGIN
  IF first_day < '2000-01-01' OR first_day > '2099-12-01' THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'sample_years', TABLE = 'machine_sample',
      MESSAGE = format('samples are of the years 2000 to 2099, not of %s', p_day);
  END IF;
  IF has_sample_month(name) THEN RETURN; END IF;
  PERFORM pg_advisory_xact_lock(hashtext('drivebook.sample_month'), 0);
  IF has_sample_month(name) THEN RETURN; END IF; -- another has made it meanwhile
  IF EXISTS (SELECT FROM _drivebook.retired_sample_month r WHERE r.month = first_day) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'sample_month_retired', TABLE = 'machine_sample',
      MESSAGE = format('the machine samples of %s are retired: no more are taken', to_char(first_day, 'YYYY-MM'));
  END IF;
  EXECUTE format('CREATE TABLE public.%I (LIKE public.machine_sample INCLUDING ALL)', name);
  EXECUTE format('ALTER TABLE public.%I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', name);
  EXECUTE format('CREATE POLICY in_scope ON public.%I USING (project_id = (SELECT scope_project()))', name);
  EXECUTE format('CREATE POLICY owner ON public.%I TO CURRENT_USER USING (true)', name);
  EXECUTE format('REVOKE ALL ON public.%I FROM PUBLIC, drivebook_app', name);
  EXECUTE format('ALTER TABLE public.machine_sample ATTACH PARTITION public.%I FOR VALUES FROM (%L) TO (%L)', name,
    first_day::timestamptz, (first_day + interval '1 month')::timestamptz);
END $$;

-- Whether the month has its table, as committed by now.
CREATE FUNCTION has_sample_month(p_name text) RETURNS boolean LANGUAGE sql VOLATILE SET search_path = public, pg_temp AS $$
  SELECT EXISTS (SELECT FROM pg_inherits i JOIN pg_class c ON c.oid = i.inhrelid
    WHERE i.inhparent = 'public.machine_sample'::regclass AND c.relname = p_name)
$$;

REVOKE EXECUTE ON FUNCTION has_sample_month FROM PUBLIC;
