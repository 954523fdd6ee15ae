-- compatible: older builds keep working
-- Whoever writes a boring asked whether its shift is countersigned without waiting for one who was countersigning it: the boring changed after
-- the signature. The shift is now locked before it is asked, as for its other rows.
CREATE OR REPLACE FUNCTION hold_countersigned() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  s shift;
BEGIN
  WITH held AS MATERIALIZED (SELECT * FROM shift WHERE id IN (NEW.shift_id, OLD.shift_id) ORDER BY id FOR NO KEY UPDATE)
  SELECT * INTO s FROM held WHERE state = 'countersigned' LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s is countersigned: reopen it before you change it', shift_words(s));
  END IF;
  RETURN coalesce(NEW, OLD);
END $$;

-- Marks are taken away by judging, in a trigger, and by nothing else: without its mark a shift would not be judged.
CREATE FUNCTION keep_shift_marks() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_marks_kept', TABLE = TG_TABLE_NAME,
    MESSAGE = 'marks of shifts are removed only when the shifts are judged';
END $$;

CREATE TRIGGER keep_shift_marks BEFORE UPDATE OR DELETE OR TRUNCATE ON _drivebook.shift_mark
  FOR EACH STATEMENT WHEN (pg_trigger_depth() = 0) EXECUTE FUNCTION keep_shift_marks();
