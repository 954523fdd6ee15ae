-- compatible: older builds keep working
-- The history took over the indexes of the record, also those of ranges made of two columns, which hold the record to its rules. Nothing is held among
-- versions, and no reading as of a moment can use them: under row-level security an index serves comparisons of a column itself. Each took
-- more time to write than all other indexes of its table together.
DO $$
DECLARE i regclass;
BEGIN
  FOR i IN SELECT x.indexrelid::regclass FROM pg_index x JOIN pg_class c ON c.oid = x.indexrelid JOIN pg_am a ON a.oid = c.relam
      WHERE c.relnamespace = 'history'::regnamespace AND a.amname = 'gist' AND x.indexprs IS NOT NULL LOOP
    EXECUTE format('DROP INDEX %s', i);
  END LOOP;
  -- nor does it take them over from tables to come
  EXECUTE replace(pg_get_functiondef('history.keep(text)'::regprocedure), 'AND NOT indisprimary', $keep$AND NOT indisprimary
        AND NOT (x.indexprs IS NOT NULL AND EXISTS (SELECT FROM pg_class c JOIN pg_am a ON a.oid = c.relam WHERE c.oid = x.indexrelid AND a.amname = 'gist'))$keep$);
END $$;

-- by its drive an activity was found by the last of them alone
CREATE INDEX activity_drive_id_started_at_idx ON history.activity (drive_id, started_at);

-- Values of a boring that follow from the machine are written anew for all of a drive: its place stays, and need not be looked at again.
DROP TRIGGER within_drive ON boring;
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE OF drive_id, from_m, to_m ON boring FOR EACH ROW EXECUTE FUNCTION interval_within_drive();
