-- compatible: older builds keep working
-- A shift was judged as a whole for each of its rows that a transaction had written: 57 times when it was replaced. It is now judged once.
-- A statement that writes activities or borings leaves a mark for each of their shifts, whose deferred trigger judges the shift while a mark
-- of it is left. Judging takes all marks of the shift away first, so that it is judged after every statement that wrote to it. A savepoint
-- that is rolled back takes back writes, marks, triggers and judgements alike.
CREATE UNLOGGED TABLE _drivebook.shift_mark (shift_id int NOT NULL);
CREATE INDEX ON _drivebook.shift_mark (shift_id);

COMMENT ON TABLE _drivebook.shift_mark IS 'Shifts written to in this transaction and not judged since. No other transaction sees a row.';

-- Once a statement. What is only computed of a boring moves no balance.
CREATE FUNCTION mark_shifts() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF TG_OP = 'INSERT' THEN
    INSERT INTO _drivebook.shift_mark SELECT DISTINCT shift_id FROM new_rows WHERE shift_id IS NOT NULL;
  ELSIF TG_OP = 'DELETE' THEN
    INSERT INTO _drivebook.shift_mark SELECT DISTINCT shift_id FROM old_rows WHERE shift_id IS NOT NULL;
  ELSIF TG_TABLE_NAME = 'boring' THEN
    WITH was AS (SELECT drive_id, shift_id, from_m, to_m, started_at, ended_at FROM old_rows),
      became AS (SELECT drive_id, shift_id, from_m, to_m, started_at, ended_at FROM new_rows)
    INSERT INTO _drivebook.shift_mark
      SELECT DISTINCT shift_id FROM ((TABLE was EXCEPT TABLE became) UNION ALL (TABLE became EXCEPT TABLE was)) moved WHERE shift_id IS NOT NULL;
  ELSE
    INSERT INTO _drivebook.shift_mark SELECT shift_id FROM old_rows UNION SELECT shift_id FROM new_rows;
  END IF;
  RETURN NULL;
END $$;

DO $$
DECLARE
  written text;
BEGIN
  FOREACH written IN ARRAY ARRAY['activity', 'boring'] LOOP
    EXECUTE format('CREATE TRIGGER mark_insert AFTER INSERT ON %I REFERENCING NEW TABLE AS new_rows
      FOR EACH STATEMENT EXECUTE FUNCTION mark_shifts()', written);
    EXECUTE format('CREATE TRIGGER mark_update AFTER UPDATE ON %I REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows
      FOR EACH STATEMENT EXECUTE FUNCTION mark_shifts()', written);
    EXECUTE format('CREATE TRIGGER mark_delete AFTER DELETE ON %I REFERENCING OLD TABLE AS old_rows
      FOR EACH STATEMENT EXECUTE FUNCTION mark_shifts()', written);
  END LOOP;
END $$;

-- All that is held of a shift with its activities and borings.
CREATE FUNCTION hold_shift(p_shift_id int) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  s shift;
  a activity;
  b boring;
BEGIN
  DELETE FROM _drivebook.shift_mark WHERE shift_id = p_shift_id;
  PERFORM lock_drive(drive_id) FROM shift WHERE id = p_shift_id;
  SELECT * INTO s FROM shift WHERE id = p_shift_id;
  IF NOT FOUND THEN RETURN; END IF;
  SELECT * INTO a FROM activity WHERE shift_id = s.id AND (drive_id <> s.drive_id OR started_at < s.starts_at OR ended_at > s.ends_at)
    ORDER BY started_at LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'activity_inside_shift', TABLE = 'activity',
      MESSAGE = format('the activity %s to %s lies outside its shift', a.started_at, a.ended_at);
  END IF;
  PERFORM hold_shift_minutes(s.id);
  FOR b IN SELECT * FROM boring WHERE shift_id = s.id ORDER BY from_m LOOP
    IF b.drive_id <> s.drive_id OR b.started_at < s.starts_at OR b.ended_at > s.ends_at THEN
      RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'boring_inside_shift', TABLE = 'boring',
        MESSAGE = format('a boring of stroke %s lies outside its shift', b.stroke_number);
    END IF;
    IF s.state <> 'draft' THEN PERFORM hold_metres_behind(s.drive_id, b.from_m); END IF;
  END LOOP;
END $$;

CREATE FUNCTION judge_marked_shift() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF EXISTS (SELECT FROM _drivebook.shift_mark WHERE shift_id = NEW.shift_id) THEN PERFORM hold_shift(NEW.shift_id); END IF;
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER shift_balances AFTER INSERT ON _drivebook.shift_mark
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION judge_marked_shift();

CREATE OR REPLACE FUNCTION shift_balances() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  PERFORM hold_shift(NEW.id);
  RETURN NULL;
END $$;

DROP TRIGGER activity_balances ON activity;
DROP FUNCTION activity_balances;

-- As before, without what is now held once for its shift.
CREATE OR REPLACE FUNCTION boring_balances() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  standing boring;
  filled numeric;
BEGIN
  PERFORM lock_drive(coalesce(NEW.drive_id, OLD.drive_id));
  IF TG_OP <> 'INSERT' THEN
    IF EXISTS (SELECT FROM boring b JOIN shift s ON s.id = b.shift_id
        WHERE b.drive_id = OLD.drive_id AND b.from_m >= OLD.to_m AND s.state <> 'draft') THEN
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
  IF FOUND THEN PERFORM hold_boring_order(standing); END IF;
  RETURN NULL;
END $$;

-- That nothing of a countersigned shift changes was asked for each row too, and is now asked once for all that a statement wrote. A boring keeps
-- its own trigger: some of what is computed of it may still be added. The shifts are locked before they are asked, before the history as by one who
-- writes a shift itself, so that this and a countersignature wait for each other; all before any, as one that is being written has no known state yet.
CREATE FUNCTION hold_countersigned_shifts() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  written int[];
  s shift;
BEGIN
  IF TG_OP = 'INSERT' THEN
    written := ARRAY(SELECT DISTINCT shift_id FROM new_rows);
  ELSIF TG_OP = 'DELETE' THEN
    written := ARRAY(SELECT DISTINCT shift_id FROM old_rows);
  ELSE
    written := ARRAY(SELECT shift_id FROM old_rows UNION SELECT shift_id FROM new_rows);
  END IF;
  WITH held AS MATERIALIZED (SELECT * FROM shift WHERE id = ANY (written) ORDER BY id FOR NO KEY UPDATE)
  SELECT * INTO s FROM held WHERE state = 'countersigned' ORDER BY starts_at LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s is countersigned: reopen it before you change it', shift_words(s));
  END IF;
  RETURN NULL;
END $$;

DO $$
DECLARE
  written text;
BEGIN
  FOREACH written IN ARRAY ARRAY['activity', 'ground_interval', 'support_installed', 'shift_confirmation'] LOOP
    EXECUTE format('DROP TRIGGER hold_countersigned ON %I', written);
    EXECUTE format('CREATE TRIGGER hold_countersigned_insert AFTER INSERT ON %I REFERENCING NEW TABLE AS new_rows
      FOR EACH STATEMENT EXECUTE FUNCTION hold_countersigned_shifts()', written);
    EXECUTE format('CREATE TRIGGER hold_countersigned_update AFTER UPDATE ON %I REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows
      FOR EACH STATEMENT EXECUTE FUNCTION hold_countersigned_shifts()', written);
    EXECUTE format('CREATE TRIGGER hold_countersigned_delete AFTER DELETE ON %I REFERENCING OLD TABLE AS old_rows
      FOR EACH STATEMENT EXECUTE FUNCTION hold_countersigned_shifts()', written);
  END LOOP;
END $$;
