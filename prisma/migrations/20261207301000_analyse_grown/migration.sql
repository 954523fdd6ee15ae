-- compatible: older builds keep working
-- An import writes in seconds what autovacuum would look at a minute later, and until then plans are made for the table as it was. The service does
-- not own the tables and may not analyse them, so this runs for their owner. It takes no name: it analyses each table of the record and of
-- its history that has grown by more than a tenth since it was last analysed, and passes over one that another session has locked.
CREATE FUNCTION analyse_grown() RETURNS int LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  grown regclass;
  analysed int := 0;
BEGIN
  IF NOT pg_try_advisory_xact_lock(hashtext('analyse_grown')) THEN RETURN 0; END IF; -- another import is at it
  FOR grown IN
    SELECT c.oid FROM pg_class c
    WHERE c.relnamespace IN ('public'::regnamespace, 'history'::regnamespace) AND c.relkind = 'r' AND pg_has_role(c.relowner, 'usage')
      AND pg_relation_size(c.oid) > (c.relpages * 1.1 + 20) * current_setting('block_size')::int
    ORDER BY c.oid
  LOOP
    EXECUTE format('ANALYZE (SKIP_LOCKED) %s', grown);
    analysed := analysed + 1;
  END LOOP;
  RETURN analysed;
END $$;
COMMENT ON FUNCTION analyse_grown() IS 'Analyses the tables of the record that have grown by more than a tenth since they were last analysed; how many.';
REVOKE EXECUTE ON FUNCTION analyse_grown FROM PUBLIC;
GRANT EXECUTE ON FUNCTION analyse_grown TO drivebook_app;

-- What grows shift by shift is analysed by autovacuum before it has grown by a tenth, which would be a third of a year of a long drive.
ALTER TABLE shift SET (autovacuum_analyze_scale_factor = 0.02);
ALTER TABLE boring SET (autovacuum_analyze_scale_factor = 0.02);
ALTER TABLE activity SET (autovacuum_analyze_scale_factor = 0.02);
ALTER TABLE support_installed SET (autovacuum_analyze_scale_factor = 0.02);
ALTER TABLE ground_interval SET (autovacuum_analyze_scale_factor = 0.02);
