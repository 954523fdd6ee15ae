-- ---------------------------------------------------------------------------------------------------------------
-- Scope: the one project that a transaction works in, and who acts. Both are set with the transaction and end with it:
-- set_config('drivebook.project', id, true), set_config('drivebook.actor', subject, true).
-- ---------------------------------------------------------------------------------------------------------------

CREATE FUNCTION scope_project() RETURNS int LANGUAGE sql STABLE PARALLEL SAFE AS $$
  SELECT nullif(current_setting('drivebook.project', true), '')::int
$$;

CREATE FUNCTION acting_subject() RETURNS text LANGUAGE sql STABLE AS $$
  SELECT coalesce(nullif(current_setting('drivebook.actor', true), ''), session_user::text)
$$;

-- ---------------------------------------------------------------------------------------------------------------
-- Every row says its project, and foreign keys hold it equal along the record: a row cannot refer to another project's.
-- ---------------------------------------------------------------------------------------------------------------

ALTER TABLE "activity" DROP CONSTRAINT "activity_activity_code_id_fkey", DROP CONSTRAINT "activity_drive_id_fkey", DROP CONSTRAINT "activity_shift_id_fkey";
ALTER TABLE "boring" DROP CONSTRAINT "boring_drive_id_fkey", DROP CONSTRAINT "boring_shift_id_fkey";
ALTER TABLE "drive" DROP CONSTRAINT "drive_machine_id_fkey";
ALTER TABLE "ground_interval" DROP CONSTRAINT "ground_interval_drive_id_fkey", DROP CONSTRAINT "ground_interval_ground_class_id_fkey", DROP CONSTRAINT "ground_interval_shift_id_fkey";
ALTER TABLE "probe_hole" DROP CONSTRAINT "probe_hole_drive_id_fkey";
ALTER TABLE "shift" DROP CONSTRAINT "shift_calendar_shift_id_fkey", DROP CONSTRAINT "shift_drive_id_fkey";
ALTER TABLE "support_installed" DROP CONSTRAINT "support_installed_drive_id_fkey", DROP CONSTRAINT "support_installed_shift_id_fkey", DROP CONSTRAINT "support_installed_support_item_id_unit_fkey";
DROP INDEX "support_item_id_unit_key";

CREATE UNIQUE INDEX "activity_code_id_project_id_key" ON "activity_code"("id", "project_id");
CREATE UNIQUE INDEX "calendar_shift_id_project_id_key" ON "calendar_shift"("id", "project_id");
CREATE UNIQUE INDEX "drive_id_project_id_key" ON "drive"("id", "project_id");
CREATE UNIQUE INDEX "ground_class_id_project_id_key" ON "ground_class"("id", "project_id");
CREATE UNIQUE INDEX "machine_id_project_id_key" ON "machine"("id", "project_id");
CREATE UNIQUE INDEX "support_item_id_unit_project_id_key" ON "support_item"("id", "unit", "project_id");

CREATE FUNCTION project_of_drive() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  NEW.project_id := (SELECT project_id FROM drive WHERE id = NEW.drive_id);
  RETURN NEW;
END $$;

DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['shift', 'boring', 'activity', 'ground_interval', 'support_installed', 'probe_hole'] LOOP
    EXECUTE format('ALTER TABLE %I ADD COLUMN project_id INTEGER', t);
    EXECUTE format('ALTER TABLE %I DISABLE TRIGGER USER', t); -- nothing that the balances hold moves
    EXECUTE format('UPDATE %I r SET project_id = d.project_id FROM drive d WHERE d.id = r.drive_id', t);
    EXECUTE format('ALTER TABLE %I ENABLE TRIGGER USER', t);
    EXECUTE format('ALTER TABLE %I ALTER COLUMN project_id SET NOT NULL, ALTER COLUMN project_id SET DEFAULT scope_project()', t);
    EXECUTE format('CREATE TRIGGER project_of_drive BEFORE INSERT ON %I FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive()', t);
  END LOOP;
END $$;

CREATE UNIQUE INDEX "shift_id_project_id_key" ON "shift"("id", "project_id");

ALTER TABLE "drive" ADD CONSTRAINT "drive_machine_id_project_id_fkey" FOREIGN KEY ("machine_id", "project_id") REFERENCES "machine"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "shift" ADD CONSTRAINT "shift_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "shift_calendar_shift_id_project_id_fkey" FOREIGN KEY ("calendar_shift_id", "project_id") REFERENCES "calendar_shift"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "boring" ADD CONSTRAINT "boring_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "boring_shift_id_project_id_fkey" FOREIGN KEY ("shift_id", "project_id") REFERENCES "shift"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "activity" ADD CONSTRAINT "activity_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "activity_shift_id_project_id_fkey" FOREIGN KEY ("shift_id", "project_id") REFERENCES "shift"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE,
  ADD CONSTRAINT "activity_activity_code_id_project_id_fkey" FOREIGN KEY ("activity_code_id", "project_id") REFERENCES "activity_code"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "ground_interval" ADD CONSTRAINT "ground_interval_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "ground_interval_shift_id_project_id_fkey" FOREIGN KEY ("shift_id", "project_id") REFERENCES "shift"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE,
  ADD CONSTRAINT "ground_interval_ground_class_id_project_id_fkey" FOREIGN KEY ("ground_class_id", "project_id") REFERENCES "ground_class"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "support_installed" ADD CONSTRAINT "support_installed_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "support_installed_shift_id_project_id_fkey" FOREIGN KEY ("shift_id", "project_id") REFERENCES "shift"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE,
  ADD CONSTRAINT "support_installed_support_item_id_unit_project_id_fkey" FOREIGN KEY ("support_item_id", "unit", "project_id") REFERENCES "support_item"("id", "unit", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "probe_hole" ADD CONSTRAINT "probe_hole_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Under row-level security an index is found by a column's own comparison only, not by a range made of two columns.
CREATE INDEX "boring_drive_id_started_at_idx" ON "boring"("drive_id", "started_at");
ALTER TABLE "support_installed" ADD COLUMN "span" numrange GENERATED ALWAYS AS (numrange(from_m, to_m, '[]')) STORED;
DROP INDEX support_installed_interval;
CREATE INDEX support_installed_span ON support_installed USING gist (drive_id, span) WHERE span IS NOT NULL; -- always: a partial index is not Prisma's to know

-- ---------------------------------------------------------------------------------------------------------------
-- Who may do what
-- ---------------------------------------------------------------------------------------------------------------

CREATE TYPE "role" AS ENUM ('viewer', 'shift_poster', 'geologist', 'engineer', 'qs', 'administrator');

CREATE TABLE "member" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL,
    "subject" TEXT NOT NULL,
    "role" "role" NOT NULL,

    CONSTRAINT "member_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "api_key" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER,
    "name" TEXT NOT NULL,
    "prefix" TEXT NOT NULL,
    "hash" BYTEA NOT NULL,
    "scopes" TEXT[],
    "created_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "created_by" TEXT NOT NULL,
    "expires_at" TIMESTAMPTZ(3) NOT NULL,
    "revoked_at" TIMESTAMPTZ(3),
    "revoked_by" TEXT,

    CONSTRAINT "api_key_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "api_key_use" (
    "prefix" TEXT NOT NULL,
    "last_used_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "api_key_use_pkey" PRIMARY KEY ("prefix")
);

CREATE TABLE "administrator" (
    "subject" TEXT NOT NULL,
    "added_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "administrator_pkey" PRIMARY KEY ("subject")
);

CREATE INDEX "member_subject_idx" ON "member"("subject");
CREATE UNIQUE INDEX "member_project_id_subject_role_key" ON "member"("project_id", "subject", "role");
CREATE UNIQUE INDEX "api_key_prefix_key" ON "api_key"("prefix");
CREATE INDEX "api_key_project_id_name_idx" ON "api_key"("project_id", "name");
ALTER TABLE "member" ADD CONSTRAINT "member_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "api_key" ADD CONSTRAINT "api_key_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE member
  ADD CONSTRAINT member_subject CHECK (length(subject) BETWEEN 1 AND 255 AND subject NOT LIKE 'key:%' AND subject <> 'local');

ALTER TABLE api_key
  ADD CONSTRAINT api_key_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT api_key_hash CHECK (length(hash) = 32),
  ADD CONSTRAINT api_key_scopes CHECK (scopes IS NOT NULL),
  ADD CONSTRAINT api_key_expires CHECK (expires_at > created_at AND expires_at <= created_at + interval '400 days'),
  ADD CONSTRAINT api_key_revoked CHECK ((revoked_at IS NULL) = (revoked_by IS NULL));

-- Two live keys a name: the old one and the one that takes its place.
CREATE FUNCTION two_live_keys() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM pg_advisory_xact_lock(hashtext('drivebook.api_key'), hashtext(coalesce(NEW.project_id, 0) || ' ' || NEW.name));
  IF (SELECT count(*) FROM api_key WHERE project_id IS NOT DISTINCT FROM NEW.project_id AND name = NEW.name
      AND revoked_at IS NULL AND expires_at > clock_timestamp()) > 2 THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'two_live_keys', TABLE = 'api_key',
      MESSAGE = format('%s has two live keys already: revoke one first', NEW.name);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER two_live_keys AFTER INSERT OR UPDATE ON api_key FOR EACH ROW EXECUTE FUNCTION two_live_keys();

-- A subject's access to a project; no row when there is no such project. Asked before there is a scope.
CREATE FUNCTION project_access(p_subject text, p_project text)
RETURNS TABLE (project_id int, roles text[], administrator boolean) LANGUAGE sql STABLE AS $$
  SELECT p.id, ARRAY(SELECT m.role::text FROM member m WHERE m.project_id = p.id AND m.subject = p_subject),
    EXISTS (SELECT FROM administrator a WHERE a.subject = p_subject)
  FROM project p WHERE p.code = p_project
$$;

CREATE FUNCTION is_administrator(p_subject text) RETURNS boolean LANGUAGE sql STABLE AS $$
  SELECT EXISTS (SELECT FROM administrator WHERE subject = p_subject)
$$;

-- The projects a subject has a role in; all for null.
CREATE FUNCTION project_codes(p_subject text, p_project_id int) RETURNS TABLE (code text) LANGUAGE sql STABLE AS $$
  SELECT p.code FROM project p
  WHERE (p_project_id IS NULL OR p.id = p_project_id)
    AND (p_subject IS NULL OR EXISTS (SELECT FROM administrator a WHERE a.subject = p_subject)
      OR EXISTS (SELECT FROM member m WHERE m.project_id = p.id AND m.subject = p_subject))
  ORDER BY p.code
$$;

CREATE FUNCTION live_api_key(p_prefix text)
RETURNS TABLE (project_id int, name text, hash bytea, scopes text[], expires_at timestamptz) LANGUAGE sql STABLE AS $$
  SELECT k.project_id, k.name, k.hash, k.scopes, k.expires_at FROM api_key k
  WHERE k.prefix = p_prefix AND k.revoked_at IS NULL AND k.expires_at > clock_timestamp()
$$;

CREATE FUNCTION use_api_key(p_prefix text) RETURNS void LANGUAGE sql AS $$
  INSERT INTO api_key_use VALUES (p_prefix, clock_timestamp())
  ON CONFLICT (prefix) DO UPDATE SET last_used_at = excluded.last_used_at
    WHERE api_key_use.last_used_at < excluded.last_used_at - interval '1 minute'
$$;

-- ---------------------------------------------------------------------------------------------------------------
-- The life of a shift: draft, submitted, countersigned by another than those who posted it; reopened with a reason.
-- SQLSTATE DB003: the rule of the second person.
-- ---------------------------------------------------------------------------------------------------------------

ALTER TABLE "shift" ADD COLUMN "posted_by" TEXT[] DEFAULT ARRAY[]::TEXT[],
  ADD COLUMN "countersigned_by" TEXT,
  ADD COLUMN "countersigned_at" TIMESTAMPTZ(3);

ALTER TABLE shift
  ADD CONSTRAINT shift_posted_by CHECK (posted_by IS NOT NULL),
  ADD CONSTRAINT shift_countersigned CHECK (
    (state = 'countersigned') = (countersigned_by IS NOT NULL) AND (countersigned_by IS NULL) = (countersigned_at IS NULL));

CREATE FUNCTION shift_words(s shift) RETURNS text LANGUAGE sql STABLE AS $$
  SELECT format('shift %s %s', s.shift_date, (SELECT name FROM calendar_shift WHERE id = s.calendar_shift_id))
$$;

CREATE FUNCTION shift_life() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  actor text := acting_subject();
  rewritten boolean;
BEGIN
  IF TG_OP = 'DELETE' THEN
    IF OLD.state = 'countersigned' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = format('%s is countersigned: it cannot be removed', shift_words(OLD));
    END IF;
    RETURN OLD;
  END IF;
  IF TG_OP = 'INSERT' THEN
    IF NEW.state = 'countersigned' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = 'a shift is submitted before it is countersigned';
    END IF;
    NEW.posted_by := ARRAY[actor];
    RETURN NEW;
  END IF;
  -- its digest says its state too, and goes with it
  rewritten := (NEW.id, NEW.project_id, NEW.drive_id, NEW.shift_date, NEW.calendar_shift_id, NEW.starts_at, NEW.ends_at, NEW.crew_lead, NEW.remark)
    IS DISTINCT FROM (OLD.id, OLD.project_id, OLD.drive_id, OLD.shift_date, OLD.calendar_shift_id, OLD.starts_at, OLD.ends_at, OLD.crew_lead, OLD.remark);
  NEW.posted_by := OLD.posted_by;
  NEW.countersigned_by := NULL;
  NEW.countersigned_at := NULL;
  IF OLD.state = 'countersigned' THEN
    IF rewritten OR NEW.state <> 'draft' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = format('%s is countersigned: reopen it before you change it', shift_words(OLD));
    END IF;
    IF NOT coalesce(current_setting('drivebook.reason', true), '') ~ '\S' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_reopened', TABLE = 'shift',
        MESSAGE = format('%s is reopened with a reason only', shift_words(OLD));
    END IF;
    IF actor = ANY (OLD.posted_by) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'shift',
        MESSAGE = format('%s was posted by %s: another person reopens it', shift_words(OLD), actor);
    END IF;
  ELSIF NEW.state = 'countersigned' THEN
    IF rewritten OR OLD.state <> 'submitted' OR NEW.digest <> OLD.digest THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = format('%s is submitted before it is countersigned', shift_words(OLD));
    END IF;
    IF actor = ANY (OLD.posted_by) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'shift',
        MESSAGE = format('%s was posted by %s: another person countersigns it', shift_words(OLD), actor);
    END IF;
    NEW.countersigned_by := actor;
    NEW.countersigned_at := clock_timestamp();
  ELSIF actor <> ALL (OLD.posted_by) THEN
    NEW.posted_by := OLD.posted_by || actor;
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER shift_life BEFORE INSERT OR UPDATE OR DELETE ON shift FOR EACH ROW EXECUTE FUNCTION shift_life();

-- What a countersigned shift holds stands still with it.
CREATE FUNCTION hold_countersigned() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  s shift;
BEGIN
  SELECT * INTO s FROM shift WHERE id IN (NEW.shift_id, OLD.shift_id) AND state = 'countersigned';
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s is countersigned: reopen it before you change it', shift_words(s));
  END IF;
  RETURN coalesce(NEW, OLD);
END $$;

CREATE TRIGGER hold_countersigned BEFORE INSERT OR UPDATE OR DELETE ON boring FOR EACH ROW EXECUTE FUNCTION hold_countersigned();
CREATE TRIGGER hold_countersigned BEFORE INSERT OR UPDATE OR DELETE ON activity FOR EACH ROW EXECUTE FUNCTION hold_countersigned();
CREATE TRIGGER hold_countersigned BEFORE INSERT OR UPDATE OR DELETE ON ground_interval FOR EACH ROW EXECUTE FUNCTION hold_countersigned();
CREATE TRIGGER hold_countersigned BEFORE INSERT OR UPDATE OR DELETE ON support_installed FOR EACH ROW EXECUTE FUNCTION hold_countersigned();

-- What must hold of a submitted shift holds of a countersigned one.

CREATE OR REPLACE FUNCTION hold_shift_minutes(p_shift_id int) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  s shift;
  booked interval;
  booked_boring interval;
  bored interval;
BEGIN
  SELECT * INTO s FROM shift WHERE id = p_shift_id;
  IF s.state IS NULL OR s.state = 'draft' THEN RETURN; END IF;
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


CREATE OR REPLACE FUNCTION hold_metres_behind(p_drive_id int, p_m numeric) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  held numeric;
  bored numeric;
  gap record;
BEGIN
  SELECT b.to_m INTO held FROM boring b JOIN shift s ON s.id = b.shift_id
    WHERE b.drive_id = p_drive_id AND b.to_m <= p_m AND s.state <> 'draft' ORDER BY b.to_m DESC LIMIT 1;
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


CREATE OR REPLACE FUNCTION shift_balances() RETURNS trigger LANGUAGE plpgsql AS $$
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
    IF NEW.state <> 'draft' THEN PERFORM hold_metres_behind(NEW.drive_id, b.from_m); END IF;
  END LOOP;
  IF EXISTS (SELECT FROM activity WHERE shift_id = NEW.id AND (started_at < NEW.starts_at OR ended_at > NEW.ends_at)) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'activity_inside_shift', TABLE = 'activity',
      MESSAGE = 'an activity lies outside its shift';
  END IF;
  RETURN NULL;
END $$;


CREATE OR REPLACE FUNCTION boring_balances() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  standing boring;
  filled numeric;
BEGIN
  PERFORM lock_drive(coalesce(NEW.drive_id, OLD.drive_id));
  IF TG_OP <> 'INSERT' THEN
    PERFORM hold_shift_minutes(OLD.shift_id);
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
  IF NOT FOUND THEN RETURN NULL; END IF;
  PERFORM hold_boring_order(standing);
  PERFORM hold_shift_minutes(standing.shift_id);
  IF EXISTS (SELECT FROM shift WHERE id = standing.shift_id AND state <> 'draft') THEN
    PERFORM hold_metres_behind(standing.drive_id, standing.from_m);
  END IF;
  RETURN NULL;
END $$;


-- ---------------------------------------------------------------------------------------------------------------
-- History. Every row version is kept in history.<table>, from the change that brought it to the change that took it
-- away; history.change says who, when and why, and chains the changes of a project by their hashes. Only triggers write
-- here. One writer a project at a time: changes have one order, and an instant has one answer.
-- ---------------------------------------------------------------------------------------------------------------

CREATE SCHEMA history;
CREATE SCHEMA as_of;

COMMENT ON SCHEMA history IS 'Every version of every row of the record, and the chained log of changes. Written by triggers only.';
COMMENT ON SCHEMA as_of IS 'The tables of the record as they stood after the change that history.stand_at() chose.';

CREATE TABLE history.change (
  project_id int NOT NULL,
  -- 1, 2, 3 … in a project
  number bigint NOT NULL,
  -- who, by which credential, why, and in which request
  actor text NOT NULL,
  credential text,
  reason text,
  request text,
  -- set when the transaction ends, and never again
  made_at timestamptz(3),
  tables text[] NOT NULL DEFAULT '{}',
  -- SHA-256 of the row versions that came and went
  content bytea,
  -- SHA-256 of the hash before it and all of the above
  hash bytea,
  PRIMARY KEY (project_id, number)
);

CREATE INDEX change_made_at ON history.change (project_id, made_at);
CREATE INDEX change_open ON history.change (project_id) WHERE hash IS NULL;

COMMENT ON TABLE history.change IS 'One row a change of a project: a transaction that wrote to its record.';

-- The change of this transaction in a project, opened with its first row. Only this transaction sees it before it is sealed.
CREATE FUNCTION history.open_change(p_project_id int, p_table text) RETURNS bigint LANGUAGE plpgsql AS $$
DECLARE
  n bigint;
  known boolean;
BEGIN
  SELECT number, p_table = ANY (tables) INTO n, known FROM change WHERE project_id = p_project_id AND hash IS NULL;
  IF NOT FOUND THEN
    PERFORM pg_advisory_xact_lock(hashtext('drivebook.history'), p_project_id);
    SET CONSTRAINTS history.seal DEFERRED; -- sealed with the transaction, whatever it made immediate before
    SELECT coalesce(max(number), 0) + 1 INTO n FROM change WHERE project_id = p_project_id;
    INSERT INTO change (project_id, number, actor, credential, reason, request, tables) VALUES (p_project_id, n, public.acting_subject(),
      nullif(current_setting('drivebook.credential', true), ''), nullif(current_setting('drivebook.reason', true), ''),
      nullif(current_setting('drivebook.request', true), ''), ARRAY[p_table]);
  ELSIF NOT known THEN
    UPDATE change SET tables = tables || p_table WHERE project_id = p_project_id AND number = n;
  END IF;
  RETURN n;
END $$;

-- The tables whose rows are kept.
CREATE FUNCTION history.kept_tables() RETURNS SETOF text LANGUAGE sql STABLE AS $$
  SELECT relname::text FROM pg_class WHERE relnamespace = 'history'::regnamespace AND relkind = 'r' AND relname <> 'change' ORDER BY relname COLLATE "C"
$$;

-- SHA-256 over the row versions that a change brought and took away, one line each. Columns without a value are left
-- out, so that a column added later does not touch what was sealed before.
CREATE FUNCTION history.content_of(p_project_id int, p_number bigint, p_tables text[]) RETURNS bytea LANGUAGE plpgsql STABLE AS $$
DECLARE
  t text;
  lines text;
  content text := '';
BEGIN
  FOR t IN SELECT name FROM unnest(p_tables) AS name ORDER BY name COLLATE "C" LOOP
    EXECUTE format($q$
      SELECT string_agg(line, E'\n' ORDER BY line COLLATE "C") FROM (
        SELECT 'came ' || jsonb_strip_nulls(to_jsonb(h) - ARRAY['from_change', 'to_change'])::text AS line
          FROM history.%1$I h WHERE project_id = $1 AND from_change = $2
        UNION ALL
        SELECT 'went ' || id || ' of ' || from_change FROM history.%1$I
          WHERE project_id = $1 AND to_change = $2 AND to_change < 9223372036854775807) l $q$, t)
      INTO lines USING p_project_id, p_number;
    IF lines IS NOT NULL THEN content := content || t || E'\n' || lines || E'\n'; END IF;
  END LOOP;
  RETURN sha256(convert_to(content, 'UTF8'));
END $$;

CREATE FUNCTION history.hash_of(c history.change, before bytea) RETURNS bytea LANGUAGE sql STABLE AS $$
  SELECT sha256(before || convert_to(jsonb_build_object('project', c.project_id, 'number', c.number, 'at', c.made_at, 'actor', c.actor,
    'credential', c.credential, 'reason', c.reason, 'request', c.request, 'tables', c.tables, 'content', encode(c.content, 'hex'))::text, 'UTF8'))
$$;

CREATE FUNCTION history.seal() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  c history.change;
  before history.change;
BEGIN
  SELECT * INTO c FROM change WHERE project_id = NEW.project_id AND number = NEW.number;
  SELECT * INTO before FROM change WHERE project_id = NEW.project_id AND number = NEW.number - 1;
  c.made_at := greatest(date_trunc('milliseconds', clock_timestamp()), before.made_at + interval '1 millisecond'); -- a clock set back reorders nothing
  c.content := content_of(c.project_id, c.number, c.tables);
  c.hash := hash_of(c, coalesce(before.hash, ''));
  UPDATE change SET made_at = c.made_at, content = c.content, hash = c.hash WHERE project_id = c.project_id AND number = c.number;
  PERFORM pg_notify('drivebook_change', c.project_id::text); -- told with the commit, to every instance
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER seal AFTER INSERT ON history.change DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION history.seal();

-- Chooses the change after which the views of schema as_of stand: the last one made until the instant. 0: none was.
-- It waits for a change that is just being made, so that an instant never gets two answers.
CREATE FUNCTION history.stand_at(p_project_id int, p_instant timestamptz) RETURNS bigint LANGUAGE plpgsql AS $$
DECLARE
  n bigint;
BEGIN
  PERFORM pg_advisory_xact_lock_shared(hashtext('drivebook.history'), p_project_id);
  SELECT coalesce(max(number), 0) INTO n FROM history.change WHERE project_id = p_project_id AND made_at <= p_instant;
  PERFORM set_config('drivebook.as_of_change', n::text, true);
  RETURN n;
END $$;

CREATE FUNCTION history.standing_change() RETURNS bigint LANGUAGE sql STABLE PARALLEL SAFE AS $$
  SELECT nullif(current_setting('drivebook.as_of_change', true), '')::bigint
$$;

-- Keeps the rows of a table from now on; what stands in it is the first version. A migration calls it for each new
-- table, and again after it has added a column (to the table in history too, under the same name and type).
CREATE FUNCTION history.keep(p_table text) RETURNS void LANGUAGE plpgsql AS $keep$
DECLARE
  columns text;
  -- the columns of the project's own table say its project by its id
  chosen text;
  project text := CASE p_table WHEN 'project' THEN 'id' ELSE 'project_id' END;
  made boolean := to_regclass('history.' || p_table) IS NULL;
  p int;
  i text;
BEGIN
  SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) INTO columns FROM pg_attribute
    WHERE attrelid = ('public.' || p_table)::regclass AND attnum > 0 AND NOT attisdropped;
  chosen := columns || CASE p_table WHEN 'project' THEN ', id' ELSE '' END;
  IF made THEN
    EXECUTE format('CREATE TABLE history.%I (LIKE public.%I)', p_table, p_table);
    IF p_table = 'project' THEN ALTER TABLE history.project ADD COLUMN project_id int NOT NULL; END IF;
    EXECUTE format('ALTER TABLE history.%I ADD COLUMN from_change bigint NOT NULL, ADD COLUMN to_change bigint NOT NULL DEFAULT 9223372036854775807, ADD PRIMARY KEY (id, to_change)', p_table);
    EXECUTE format('CREATE INDEX ON history.%I (project_id, from_change)', p_table);
    EXECUTE format('CREATE INDEX ON history.%I (project_id, to_change) WHERE to_change < 9223372036854775807', p_table);
    EXECUTE format('COMMENT ON TABLE history.%I IS %L', p_table, 'Versions of the rows of ' || p_table || ': from the change that brought each until the one that took it away.');
    -- found by the same ways as what stands now; nothing is unique among versions
    FOR i IN SELECT pg_get_indexdef(indexrelid) FROM pg_index x WHERE indrelid = ('public.' || p_table)::regclass AND NOT indisprimary
        AND NOT EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = x.indrelid AND a.attname = 'id' AND a.attnum = ANY (x.indkey)) LOOP
      EXECUTE regexp_replace(i, '^CREATE (UNIQUE )?INDEX \S+ ON public\.', 'CREATE INDEX ON history.');
    END LOOP;
    EXECUTE format('ALTER TABLE history.%I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', p_table);
    EXECUTE format('CREATE POLICY in_scope ON history.%I USING (project_id = (SELECT public.scope_project()))', p_table);
    EXECUTE format('CREATE POLICY owner ON history.%I TO CURRENT_USER USING (true)', p_table);
    EXECUTE format('GRANT SELECT ON history.%I TO drivebook_app', p_table);
  END IF;
  EXECUTE format($f$
    CREATE OR REPLACE FUNCTION history.keep_%1$s() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = history, pg_temp SET timezone = 'UTC' AS $body$
    DECLARE
      p int;
      n bigint;
    BEGIN
      IF TG_OP = 'INSERT' THEN
        FOR p IN SELECT DISTINCT %4$I FROM new_rows WHERE %4$I IS NOT NULL LOOP
          n := open_change(p, '%1$s');
          INSERT INTO history.%1$I (%2$s, from_change) SELECT %3$s, n FROM new_rows WHERE %4$I = p;
        END LOOP;
      ELSIF TG_OP = 'DELETE' THEN
        FOR p IN SELECT DISTINCT %4$I FROM old_rows WHERE %4$I IS NOT NULL LOOP
          n := open_change(p, '%1$s');
          DELETE FROM history.%1$I h USING old_rows o WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807 AND h.from_change = n;
          UPDATE history.%1$I h SET to_change = n FROM old_rows o WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807;
        END LOOP;
      ELSE
        FOR p IN SELECT DISTINCT %4$I FROM (TABLE old_rows UNION ALL TABLE new_rows) r WHERE %4$I IS NOT NULL LOOP
          IF NOT EXISTS ((TABLE old_rows EXCEPT TABLE new_rows) UNION ALL (TABLE new_rows EXCEPT TABLE old_rows)) THEN CONTINUE; END IF;
          n := open_change(p, '%1$s');
          DELETE FROM history.%1$I h USING (TABLE old_rows EXCEPT TABLE new_rows) o
            WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807 AND h.from_change = n;
          UPDATE history.%1$I h SET to_change = n FROM (TABLE old_rows EXCEPT TABLE new_rows) o
            WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807;
          INSERT INTO history.%1$I (%2$s, from_change) SELECT %3$s, n FROM (TABLE new_rows EXCEPT TABLE old_rows) r WHERE %4$I = p;
        END LOOP;
      END IF;
      RETURN NULL;
    END $body$ $f$, p_table, columns || CASE p_table WHEN 'project' THEN ', project_id' ELSE '' END, chosen, project);
  EXECUTE format('CREATE OR REPLACE VIEW as_of.%I WITH (security_invoker = true) AS SELECT %s FROM history.%I
    WHERE from_change <= (SELECT history.standing_change()) AND to_change > (SELECT history.standing_change())', p_table, columns, p_table);
  EXECUTE format('GRANT SELECT ON as_of.%I TO drivebook_app', p_table);
  IF NOT made THEN RETURN; END IF;
  EXECUTE format('CREATE TRIGGER keep_insert AFTER INSERT ON public.%1$I REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION history.keep_%1$s()', p_table);
  EXECUTE format('CREATE TRIGGER keep_delete AFTER DELETE ON public.%1$I REFERENCING OLD TABLE AS old_rows FOR EACH STATEMENT EXECUTE FUNCTION history.keep_%1$s()', p_table);
  EXECUTE format('CREATE TRIGGER keep_update AFTER UPDATE ON public.%1$I REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION history.keep_%1$s()', p_table);
  EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON public.%1$I FOR EACH STATEMENT EXECUTE FUNCTION history.no_truncate()', p_table);
  FOR p IN EXECUTE format('SELECT DISTINCT %I FROM public.%I WHERE %I IS NOT NULL', project, p_table, project) LOOP
    EXECUTE format('INSERT INTO history.%I (%s, from_change) SELECT %s, history.open_change($1, $2) FROM public.%I WHERE %I = $1', p_table,
      columns || CASE p_table WHEN 'project' THEN ', project_id' ELSE '' END, chosen, p_table, project) USING p, p_table;
  END LOOP;
END $keep$;

-- TRUNCATE fires no trigger that could keep the rows.
CREATE FUNCTION history.no_truncate() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'history_kept', TABLE = TG_TABLE_NAME,
    MESSAGE = format('%s cannot be truncated: its history would not be kept', TG_TABLE_NAME);
END $$;

-- What a change did, row by row; the hash of a key is nobody's to read.
CREATE FUNCTION history.rows_of(p_project_id int, p_number bigint)
RETURNS TABLE (table_name text, row_id int, before jsonb, after jsonb) LANGUAGE plpgsql STABLE AS $$
BEGIN
  FOR table_name IN SELECT name FROM history.change c, unnest(c.tables) AS name WHERE c.project_id = p_project_id AND c.number = p_number ORDER BY name LOOP
    RETURN QUERY EXECUTE format($q$
      SELECT $3, coalesce(o.id, n.id), to_jsonb(o) - ARRAY['from_change', 'to_change', 'hash'], to_jsonb(n) - ARRAY['from_change', 'to_change', 'hash']
      FROM (SELECT * FROM history.%1$I WHERE project_id = $1 AND to_change = $2 AND to_change < 9223372036854775807) o
      FULL JOIN (SELECT * FROM history.%1$I WHERE project_id = $1 AND from_change = $2) n ON n.id = o.id
      ORDER BY 2 $q$, table_name) USING p_project_id, p_number, table_name;
  END LOOP;
END $$;

-- The first fault of a project's history; no row when there is none. p_head_number and p_head_hash: a head noted before.
CREATE FUNCTION history.first_fault(p_project_id int, p_head_number bigint, p_head_hash bytea)
RETURNS TABLE (number bigint, fault text) LANGUAGE plpgsql STABLE AS $$
DECLARE
  c history.change;
  last history.change;
  all_tables text[] := ARRAY(SELECT history.kept_tables());
  t text;
  columns text;
  stray text;
  early boolean;
BEGIN
  FOR c IN SELECT * FROM history.change WHERE project_id = p_project_id ORDER BY history.change.number LOOP
    number := c.number;
    IF c.number <> coalesce(last.number, 0) + 1 THEN
      number := coalesce(last.number, 0) + 1;
      fault := format('it is missing: %s follows %s', c.number, coalesce(last.number, 0));
    ELSIF c.hash IS NULL THEN
      fault := 'it is not sealed';
    ELSIF c.content <> history.content_of(p_project_id, c.number, all_tables) THEN
      fault := 'the rows that it brought or took away are not those it sealed';
    ELSIF c.hash <> history.hash_of(c, coalesce(last.hash, '')) THEN
      fault := 'who, when or why is not what it sealed, or the entry before it is another';
    ELSIF c.made_at <= last.made_at THEN
      fault := 'it was made before the entry that it follows';
    ELSIF c.number = p_head_number AND c.hash <> p_head_hash THEN
      fault := 'its hash is not that of the head noted before: the history was written anew';
    END IF;
    IF fault IS NOT NULL THEN RETURN NEXT; RETURN; END IF;
    last := c;
  END LOOP;
  IF p_head_number > coalesce(last.number, 0) THEN
    number := coalesce(last.number, 0) + 1;
    fault := format('it is missing: the history ends at %s, and the head noted before is %s', coalesce(last.number, 0), p_head_number);
    RETURN NEXT; RETURN;
  END IF;
  -- the record as it stands is what the history says
  FOREACH t IN ARRAY all_tables LOOP
    SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) INTO columns FROM pg_attribute
      WHERE attrelid = ('public.' || t)::regclass AND attnum > 0 AND NOT attisdropped;
    EXECUTE format($q$
      WITH now AS (SELECT %2$s FROM public.%1$I WHERE %3$I = $1),
        kept AS (SELECT %2$s FROM history.%1$I WHERE project_id = $1 AND to_change = 9223372036854775807)
      SELECT min(id)::text FROM ((TABLE now EXCEPT TABLE kept) UNION ALL (TABLE kept EXCEPT TABLE now)) d $q$,
      t, columns, CASE t WHEN 'project' THEN 'id' ELSE 'project_id' END) INTO stray USING p_project_id;
    IF stray IS NOT NULL THEN
      number := coalesce(last.number, 1);
      fault := format('the record is not what the history says: %s %s', t, stray);
      RETURN NEXT; RETURN;
    END IF;
    -- a version that no change brought
    EXECUTE format('SELECT min(id)::text, bool_or(from_change < 1) FROM history.%I WHERE project_id = $1
      AND (from_change NOT BETWEEN 1 AND $2 OR (to_change > $2 AND to_change < 9223372036854775807))', t)
      INTO stray, early USING p_project_id, coalesce(last.number, 0);
    IF stray IS NOT NULL THEN
      number := CASE WHEN early THEN 1 ELSE coalesce(last.number, 0) + 1 END;
      fault := format('it is not the one that brought or took away a version of %s %s', t, stray);
      RETURN NEXT; RETURN;
    END IF;
  END LOOP;
END $$;

-- ---------------------------------------------------------------------------------------------------------------
-- Row-level security. The service works as drivebook_app, which owns nothing and bypasses nothing. Without a scope it
-- sees no row. Policies ask for the scope in a sub-select: it is computed once a query.
-- ---------------------------------------------------------------------------------------------------------------

DO $$
BEGIN
  CREATE ROLE drivebook_app NOLOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;
EXCEPTION
  WHEN duplicate_object OR unique_violation THEN NULL; -- another database of this server has made it
END $$;

GRANT drivebook_app TO CURRENT_USER;
GRANT USAGE ON SCHEMA public, history, as_of TO drivebook_app;
GRANT SELECT ON history.change TO drivebook_app;
ALTER TABLE history.change ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY in_scope ON history.change USING (project_id = (SELECT public.scope_project()));
CREATE POLICY owner ON history.change TO CURRENT_USER USING (true);

-- Holds a table with a project_id to the scope: the service's role sees and writes the rows of its project only. A migration
-- calls it for each new table of the record, as it calls history.keep.
CREATE FUNCTION hold_to_scope(p_table text) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
  EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', p_table);
  EXECUTE format('CREATE POLICY in_scope ON %I USING (%I = (SELECT scope_project()))', p_table, CASE p_table WHEN 'project' THEN 'id' ELSE 'project_id' END);
  EXECUTE format('CREATE POLICY owner ON %I TO CURRENT_USER USING (true)', p_table);
  EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO drivebook_app', p_table);
  GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO drivebook_app;
END $$;

REVOKE EXECUTE ON FUNCTION hold_to_scope FROM PUBLIC;

-- What runs for its owner: it looks beyond the scope, and only where its text says. Its names are those of schema public,
-- whatever the caller's search path.
DO $$
DECLARE
  f regprocedure;
  t text;
BEGIN
  FOR f IN SELECT oid FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND (prorettype = 'trigger'::regtype
      OR proname IN ('project_access', 'is_administrator', 'project_codes', 'live_api_key', 'use_api_key')) LOOP
    EXECUTE format('ALTER FUNCTION %s SECURITY DEFINER SET search_path = public, pg_temp', f);
  END LOOP;
  FOR f IN SELECT oid FROM pg_proc WHERE pronamespace = 'history'::regnamespace AND proname IN ('open_change', 'seal') LOOP
    EXECUTE format('ALTER FUNCTION %s SECURITY DEFINER SET search_path = history, pg_temp SET timezone = ''UTC''', f);
  END LOOP;
  ALTER FUNCTION history.content_of SET timezone = 'UTC' SET datestyle = 'ISO' SET extra_float_digits = 1 SET bytea_output = 'hex';
  ALTER FUNCTION history.hash_of SET timezone = 'UTC';
  REVOKE EXECUTE ON FUNCTION history.open_change, history.keep, history.first_fault FROM PUBLIC;
  FOREACH t IN ARRAY ARRAY['project', 'calendar_shift', 'activity_code', 'ground_class', 'support_item', 'machine', 'drive', 'shift', 'boring',
      'activity', 'ground_interval', 'support_installed', 'probe_hole', 'member', 'api_key'] LOOP
    PERFORM hold_to_scope(t);
  END LOOP;
  ALTER TABLE administrator ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
  CREATE POLICY owner ON administrator TO CURRENT_USER USING (true);
  ALTER TABLE api_key_use ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
  CREATE POLICY in_scope ON api_key_use USING (EXISTS (SELECT FROM api_key k WHERE k.prefix = api_key_use.prefix));
  CREATE POLICY owner ON api_key_use TO CURRENT_USER USING (true);
  GRANT SELECT ON api_key_use TO drivebook_app;
  REVOKE TRUNCATE ON ALL TABLES IN SCHEMA public FROM PUBLIC;
END $$;

SELECT set_config('drivebook.actor', 'migration', true), set_config('drivebook.reason', 'the record as it stood when its history began', true);
SELECT history.keep(t) FROM unnest(ARRAY['project', 'calendar_shift', 'activity_code', 'ground_class', 'support_item', 'machine', 'drive', 'shift',
  'boring', 'activity', 'ground_interval', 'support_installed', 'probe_hole', 'member', 'api_key']) t;
