-- What a rule measures is worked out by functions with other results: the reports are made anew with the views of this release.
DO $$
DECLARE
  outside text;
  o text;
  objects text[];
BEGIN
  SELECT string_agg(DISTINCT reader.oid::regclass::text, ', ') INTO outside
    FROM pg_depend d JOIN pg_rewrite r ON r.oid = d.objid JOIN pg_class reader ON reader.oid = r.ev_class JOIN pg_class used ON used.oid = d.refobjid
    WHERE d.classid = 'pg_rewrite'::regclass AND d.refclassid = 'pg_class'::regclass AND used.relnamespace = to_regnamespace('report')
      AND reader.relnamespace NOT IN (SELECT oid FROM pg_namespace WHERE nspname IN ('report', 'report_as_of', 'as_of'));
  IF outside IS NOT NULL THEN
    RAISE EXCEPTION 'views of your own read those of schema report: %', outside
      USING HINT = 'Drop them before this upgrade and create them anew after it: it makes the views of schema report anew.';
  END IF;
  DROP SCHEMA IF EXISTS report_as_of CASCADE;
  SELECT array_agg(format('DROP VIEW IF EXISTS report.%I CASCADE', viewname)) INTO objects FROM pg_views WHERE schemaname = 'report';
  FOREACH o IN ARRAY coalesce(objects, '{}') LOOP EXECUTE o; END LOOP;
  SELECT array_agg(format('DROP ROUTINE IF EXISTS %s CASCADE', oid::regprocedure)) INTO objects FROM pg_proc WHERE pronamespace = to_regnamespace('report');
  FOREACH o IN ARRAY coalesce(objects, '{}') LOOP EXECUTE o; END LOOP;
END $$;
