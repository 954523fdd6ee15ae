-- compatible: older builds keep working
-- Alerts: what a project wants to be warned of, as rules, and each crossing that was raised, acknowledged and cleared. What holds is said by views of
-- schema report (prisma/views/watch); here it is compared with what was raised, in the transaction that changes the inputs and by a clock.

CREATE TABLE "alert_rule" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "drive_id" INTEGER,
    "code" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "threshold" DECIMAL(9,3),
    "is_on" BOOLEAN NOT NULL DEFAULT true,
    "remark" TEXT,

    CONSTRAINT "alert_rule_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "alert" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "drive_id" INTEGER NOT NULL,
    "number" INTEGER NOT NULL,
    "kind" TEXT NOT NULL,
    "rule" TEXT,
    "subject" TEXT NOT NULL,
    "value" DECIMAL(15,3),
    "limit_value" DECIMAL(15,3),
    "unit" TEXT,
    "text" TEXT NOT NULL,
    "raised_at" TIMESTAMPTZ(3) NOT NULL,
    "raised_by" TEXT NOT NULL,
    "acknowledged_at" TIMESTAMPTZ(3),
    "acknowledged_by" TEXT,
    "acknowledgement" TEXT,
    "cleared_at" TIMESTAMPTZ(3),
    "cleared_by" TEXT,
    "clearance" TEXT,

    CONSTRAINT "alert_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "alert_rule_project_id_code_key" ON "alert_rule"("project_id", "code");
CREATE INDEX "alert_rule_drive_id_idx" ON "alert_rule"("drive_id");
CREATE UNIQUE INDEX "alert_project_id_number_key" ON "alert"("project_id", "number");
CREATE INDEX "alert_drive_id_idx" ON "alert"("drive_id");
ALTER TABLE "alert_rule" ADD CONSTRAINT "alert_rule_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "alert_rule" ADD CONSTRAINT "alert_rule_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "alert" ADD CONSTRAINT "alert_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- one crossing is raised once, whoever sees it
CREATE UNIQUE INDEX alert_open_once ON alert (drive_id, kind, rule, subject) NULLS NOT DISTINCT WHERE cleared_at IS NULL;

ALTER TABLE alert_rule
  ADD CONSTRAINT alert_rule_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT alert_rule_kind CHECK (kind IN ('cover_below', 'thrust_above', 'unsupported_above', 'inflow_above', 'shift_late', 'metres_open', 'minutes_open', 'class_decision_open')),
  ADD CONSTRAINT alert_rule_threshold CHECK ((threshold IS NOT NULL) = (kind NOT IN ('unsupported_above', 'inflow_above')) AND threshold >= 0),
  ADD CONSTRAINT alert_rule_remark CHECK (remark ~ '\S');
ALTER TABLE alert
  ADD CONSTRAINT alert_number CHECK (number > 0),
  ADD CONSTRAINT alert_rule_given CHECK ((rule IS NULL) = (kind = 'hold_point_passed')),
  ADD CONSTRAINT alert_acknowledged CHECK ((acknowledged_at IS NULL) = (acknowledged_by IS NULL) AND (acknowledged_at IS NULL) = (acknowledgement IS NULL) AND acknowledgement ~ '\S'),
  ADD CONSTRAINT alert_cleared CHECK ((cleared_at IS NULL) = (cleared_by IS NULL) AND (cleared_at IS NULL) = (clearance IS NULL) AND clearance IN ('ended', 'rule_off') AND cleared_at >= raised_at);

COMMENT ON TABLE alert_rule IS 'What a project wants to be warned of; the kinds are those of report.alert_kind().';
COMMENT ON COLUMN alert_rule.drive_id IS 'The drive that it is for; null: every drive of the project.';
COMMENT ON COLUMN alert_rule.threshold IS 'In the unit of its kind; null where the record itself has the limit.';
COMMENT ON TABLE alert IS 'One crossing of a rule: raised once, cleared when what it says has ended, raised anew by the next crossing. It is never removed.';
COMMENT ON COLUMN alert.number IS '1, 2, 3 … in the project.';
COMMENT ON COLUMN alert.rule IS 'Code of the rule; null: a hold point that was passed, which needs none.';
COMMENT ON COLUMN alert.subject IS 'What in the drive it is about.';
COMMENT ON COLUMN alert.value IS 'When it was raised, in the unit.';
COMMENT ON COLUMN alert.limit_value IS 'What it passed, in the unit.';
COMMENT ON COLUMN alert.clearance IS 'Why it was cleared: ended, or rule_off: the rule was removed, switched off or given to another drive.';

-- A rule keeps its kind, by which what it raised is read.
CREATE FUNCTION alert_rule_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.kind <> OLD.kind THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'alert_rule_kind_fixed', TABLE = 'alert_rule',
      MESSAGE = format('alert rule %s is of kind %s and keeps it: remove it, or give the new one another code', OLD.code, OLD.kind);
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER alert_rule_life BEFORE UPDATE ON alert_rule FOR EACH ROW EXECUTE FUNCTION alert_rule_life();

-- What was raised stays as it was raised. It is acknowledged once, by whoever acts, for a reason, and cleared once.
CREATE FUNCTION alert_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  why text := nullif(btrim(coalesce(current_setting('drivebook.reason', true), '')), '');
BEGIN
  IF TG_OP = 'DELETE' OR (NEW.id, NEW.project_id, NEW.drive_id, NEW.number, NEW.kind, NEW.rule, NEW.subject, NEW.value, NEW.limit_value, NEW.unit, NEW.text, NEW.raised_at, NEW.raised_by)
      IS DISTINCT FROM (OLD.id, OLD.project_id, OLD.drive_id, OLD.number, OLD.kind, OLD.rule, OLD.subject, OLD.value, OLD.limit_value, OLD.unit, OLD.text, OLD.raised_at, OLD.raised_by)
    OR (OLD.cleared_at IS NOT NULL AND (NEW.cleared_at, NEW.cleared_by, NEW.clearance) IS DISTINCT FROM (OLD.cleared_at, OLD.cleared_by, OLD.clearance)) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'alert_stands', TABLE = 'alert',
      MESSAGE = format('alert %s stays as it was raised and cleared', OLD.number);
  END IF;
  IF (NEW.acknowledged_at, NEW.acknowledged_by, NEW.acknowledgement) IS NOT DISTINCT FROM (OLD.acknowledged_at, OLD.acknowledged_by, OLD.acknowledgement) THEN RETURN NEW; END IF;
  IF OLD.acknowledged_at IS NOT NULL THEN
    RAISE EXCEPTION USING ERRCODE = 'DB005', CONSTRAINT = 'alert_acknowledged_once', TABLE = 'alert',
      MESSAGE = format('alert %s is acknowledged, by %s: an acknowledgement stays', OLD.number, OLD.acknowledged_by);
  END IF;
  IF why IS NULL THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'alert_acknowledgement_reason', TABLE = 'alert',
      MESSAGE = format('alert %s is acknowledged with a reason only', OLD.number);
  END IF;
  NEW.acknowledged_at := greatest(clock_timestamp(), OLD.raised_at);
  NEW.acknowledged_by := acting_subject();
  NEW.acknowledgement := why;
  RETURN NEW;
END $$;

CREATE TRIGGER alert_life BEFORE UPDATE OR DELETE ON alert FOR EACH ROW EXECUTE FUNCTION alert_life();

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['alert_rule', 'alert']) t;

-- Alerts are raised and cleared by what follows, which runs for the owner. The service acknowledges them.
REVOKE INSERT, UPDATE, DELETE ON alert FROM drivebook_app;
GRANT UPDATE (acknowledged_at) ON alert TO drivebook_app;

-- Brings the alerts of a drive, of these kinds, to what was found to hold (rows of report.alert_condition as JSON). The caller holds the history of the project, so
-- that writers follow each other; and the open alerts are unique. What time brings is not taken back by a transaction that began before it.
CREATE FUNCTION settle_alerts(p_project_id int, p_drive_id int, p_kinds text[], p_found jsonb) RETURNS int
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  at constant timestamptz := clock_timestamp();
  moved int;
  n int;
BEGIN
  UPDATE alert a SET cleared_at = greatest(at, a.raised_at), cleared_by = acting_subject(),
      clearance = CASE WHEN a.rule IS NULL OR EXISTS (SELECT FROM alert_rule r WHERE r.project_id = a.project_id AND r.code = a.rule AND r.kind = a.kind AND r.is_on
        AND coalesce(r.drive_id, a.drive_id) = a.drive_id) THEN 'ended' ELSE 'rule_off' END
    WHERE a.drive_id = p_drive_id AND a.cleared_at IS NULL AND a.kind = ANY (p_kinds)
      AND NOT EXISTS (SELECT FROM jsonb_to_recordset(p_found) f (kind text, rule text, subject text) WHERE f.kind = a.kind AND f.rule IS NOT DISTINCT FROM a.rule AND f.subject = a.subject)
      AND (a.raised_at <= now() OR a.kind NOT IN ('shift_late', 'metres_open', 'minutes_open', 'class_decision_open'));
  GET DIAGNOSTICS moved = ROW_COUNT;
  INSERT INTO alert (project_id, drive_id, number, kind, rule, subject, value, limit_value, unit, text, raised_at, raised_by)
    SELECT p_project_id, p_drive_id, (SELECT coalesce(max(number), 0) FROM alert WHERE project_id = p_project_id) + row_number() OVER (ORDER BY f.kind, f.rule, f.subject),
      f.kind, f.rule, f.subject, f.value, f.limit_value, f.unit, f.text, at, acting_subject()
    FROM jsonb_to_recordset(p_found) f (kind text, rule text, subject text, value numeric, limit_value numeric, unit text, text text)
    WHERE NOT EXISTS (SELECT FROM alert a WHERE a.drive_id = p_drive_id AND a.cleared_at IS NULL AND a.kind = f.kind AND a.rule IS NOT DISTINCT FROM f.rule AND a.subject = f.subject);
  GET DIAGNOSTICS n = ROW_COUNT;
  RETURN moved + n;
END $$;

-- What holds now in a drive, of these kinds: the rows of report.alert_condition, each kind by the function that it is made of, so that nothing is planned or set up for the others.
CREATE FUNCTION alerts_found(p_drive_id int, p_kinds text[]) RETURNS jsonb
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' SET plan_cache_mode = force_generic_plan AS $$
DECLARE
  held jsonb := '[]';
  k text;
  part jsonb;
BEGIN
  FOREACH k IN ARRAY p_kinds LOOP
    CASE k
    WHEN 'cover_below' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_cover(p_drive_id) c;
    WHEN 'hold_point_passed' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_hold_point(p_drive_id) c;
    WHEN 'thrust_above' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_thrust(p_drive_id) c;
    WHEN 'inflow_above' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_inflow(p_drive_id) c;
    WHEN 'shift_late' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_shift(p_drive_id) c;
    WHEN 'metres_open' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_metres(p_drive_id) c;
    WHEN 'minutes_open' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_minutes(p_drive_id) c;
    WHEN 'class_decision_open' THEN SELECT jsonb_agg(c) INTO part FROM report.alert_class_decision(p_drive_id) c;
    WHEN 'unsupported_above' THEN
      IF report_kept.judgement_stands(p_drive_id) THEN SELECT jsonb_agg(c) INTO part FROM report_kept.alert_unsupported(p_drive_id) c;
      ELSE SELECT jsonb_agg(c) INTO part FROM report.alert_unsupported(p_drive_id) c;
      END IF;
    END CASE;
    held := held || coalesce((SELECT jsonb_agg(e || jsonb_build_object('kind', k)) FROM jsonb_array_elements(part) e), '[]');
  END LOOP;
  RETURN held;
END $$;

-- With the transaction that changes the inputs: of what it wrote to, before it is sealed. It costs one reading of the change where no rule is concerned.
-- What cannot be worked out refuses nothing that is written: it is reported in the log of the database, and the clock tries it again. What asks for the transaction to be
-- repeated is passed on.
CREATE FUNCTION history.raise_alerts() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  written text[];
  own int[];
  d int;
  kinds text[];
BEGIN
  SELECT c.tables, c.drives INTO written, own FROM history.change c WHERE c.project_id = NEW.project_id AND c.number = NEW.number;
  IF NOT EXISTS (SELECT FROM alert_rule WHERE project_id = NEW.project_id AND (is_on OR 'alert_rule' = ANY (written)))
    AND NOT EXISTS (SELECT FROM hold_point WHERE project_id = NEW.project_id)
    AND NOT EXISTS (SELECT FROM alert WHERE project_id = NEW.project_id AND cleared_at IS NULL) THEN
    RETURN NULL;
  END IF;
  IF to_regclass('report.alert_condition') IS NULL THEN RETURN NULL; END IF; -- migrations write before the views are in
  FOR d, kinds IN
    SELECT e.id, array_agg(k.kind) FROM drive e CROSS JOIN report.alert_kind() k
    WHERE e.project_id = NEW.project_id AND k.in_transaction AND (k.project_tables && written OR (e.id = ANY (own) AND k.drive_tables && written))
      AND (NOT k.needs_rule OR EXISTS (SELECT FROM alert_rule r WHERE r.project_id = e.project_id AND r.kind = k.kind AND r.is_on AND coalesce(r.drive_id, e.id) = e.id)
        OR EXISTS (SELECT FROM alert a WHERE a.drive_id = e.id AND a.kind = k.kind AND a.cleared_at IS NULL))
    GROUP BY e.id ORDER BY e.id
  LOOP
    BEGIN
      PERFORM settle_alerts(NEW.project_id, d, kinds, alerts_found(d, kinds));
    EXCEPTION
      WHEN transaction_rollback OR lock_not_available THEN RAISE;
      WHEN OTHERS THEN RAISE WARNING 'the alerts of drive % were not worked out: % (%)', d, SQLERRM, SQLSTATE;
    END;
  END LOOP;
  RETURN NULL;
END $$;

-- Of the deferred triggers of one row, the one whose name comes first is fired first: alerts are raised before the change is sealed.
CREATE CONSTRAINT TRIGGER raise_alerts AFTER INSERT ON history.change DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION history.raise_alerts();

CREATE OR REPLACE FUNCTION history.open_change(p_project_id int, p_table text, p_drives int[] DEFAULT '{}') RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = history, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  n bigint;
  known boolean;
BEGIN
  SELECT number, p_table = ANY (tables) AND drives @> p_drives INTO n, known FROM change WHERE project_id = p_project_id AND hash IS NULL;
  IF NOT FOUND THEN
    PERFORM pg_advisory_xact_lock(hashtext('drivebook.history'), p_project_id);
    SET CONSTRAINTS history.raise_alerts, history.seal DEFERRED; -- judged and sealed with the transaction, whatever it made immediate before
    SELECT coalesce(max(number), 0) + 1 INTO n FROM change WHERE project_id = p_project_id;
    INSERT INTO change (project_id, number, actor, credential, reason, request, tables, drives) VALUES (p_project_id, n, public.acting_subject(),
      nullif(current_setting('drivebook.credential', true), ''), nullif(current_setting('drivebook.reason', true), ''),
      nullif(current_setting('drivebook.request', true), ''), ARRAY[p_table], p_drives);
  ELSIF NOT known THEN
    UPDATE change SET tables = CASE WHEN p_table = ANY (tables) THEN tables ELSE tables || p_table END,
      drives = drives || ARRAY(SELECT unnest(p_drives) EXCEPT SELECT unnest(drives))
      WHERE project_id = p_project_id AND number = n;
  END IF;
  RETURN n;
END $$;

-- After which change a drive was last judged by the clock, of kinds that time alone does not change. It may be deleted at any time, and is empty after a crash.
CREATE UNLOGGED TABLE kept.alert_check (
  drive_id int PRIMARY KEY,
  project_id int NOT NULL,
  change bigint NOT NULL
);
ALTER TABLE kept.alert_check ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY in_scope ON kept.alert_check USING (project_id = (SELECT scope_project()));
CREATE POLICY owner ON kept.alert_check TO CURRENT_USER USING (true);
GRANT SELECT, DELETE ON kept.alert_check TO drivebook_app;
COMMENT ON TABLE kept.alert_check IS 'After which change the clock of the alerts last judged a drive whole.';

-- By the clock: judges a drive of the scope without holding anybody up, and writes only where something has come or gone and no writer has come between.
-- Returns how many alerts were raised or cleared; null: another does it, or a writer came between, so that it is to be done again.
CREATE FUNCTION raise_alerts(p_drive_id int) RETURNS int
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  p int;
  n bigint;
  slow boolean;
  kinds text[];
  held jsonb;
  moved int := 0;
BEGIN
  SELECT project_id INTO p FROM drive WHERE id = p_drive_id AND project_id = scope_project();
  IF NOT FOUND THEN RETURN 0; END IF;
  IF NOT pg_try_advisory_xact_lock(hashtext('drivebook.alerts'), p_drive_id) THEN RETURN NULL; END IF;
  SELECT coalesce(max(number), 0) INTO n FROM history.change WHERE project_id = p;
  SELECT coalesce(array_agg(k.kind), '{}') INTO kinds FROM report.alert_kind() k
    WHERE (NOT k.needs_rule OR EXISTS (SELECT FROM alert_rule r WHERE r.project_id = p AND r.kind = k.kind AND r.is_on AND coalesce(r.drive_id, p_drive_id) = p_drive_id)
        OR EXISTS (SELECT FROM alert a WHERE a.drive_id = p_drive_id AND a.kind = k.kind AND a.cleared_at IS NULL))
      AND (k.in_transaction OR NOT EXISTS (SELECT FROM kept.alert_check c WHERE c.drive_id = p_drive_id AND NOT EXISTS (
        SELECT FROM history.change l WHERE l.project_id = p AND l.number > c.change AND (k.project_tables && l.tables OR (p_drive_id = ANY (l.drives) AND k.drive_tables && l.tables)))));
  slow := 'unsupported_above' = ANY (kinds);
  held := alerts_found(p_drive_id, kinds);
  IF EXISTS (SELECT FROM alert a WHERE a.drive_id = p_drive_id AND a.cleared_at IS NULL AND a.kind = ANY (kinds) AND NOT EXISTS (
        SELECT FROM jsonb_to_recordset(held) f (kind text, rule text, subject text) WHERE f.kind = a.kind AND f.rule IS NOT DISTINCT FROM a.rule AND f.subject = a.subject))
    OR EXISTS (SELECT FROM jsonb_to_recordset(held) f (kind text, rule text, subject text) WHERE NOT EXISTS (
        SELECT FROM alert a WHERE a.drive_id = p_drive_id AND a.cleared_at IS NULL AND a.kind = f.kind AND a.rule IS NOT DISTINCT FROM f.rule AND a.subject = f.subject)) THEN
    PERFORM FROM drive WHERE id = p_drive_id FOR KEY SHARE; -- in the order in which every writer locks: the drive, then the history
    PERFORM pg_advisory_xact_lock(hashtext('drivebook.history'), p);
    IF EXISTS (SELECT FROM history.change WHERE project_id = p AND number > n AND (drives = '{}' OR p_drive_id = ANY (drives))) THEN RETURN NULL; END IF;
    moved := settle_alerts(p, p_drive_id, kinds, held);
  END IF;
  IF slow THEN
    INSERT INTO kept.alert_check VALUES (p_drive_id, p, n) ON CONFLICT (drive_id) DO UPDATE SET change = excluded.change;
  END IF;
  RETURN moved;
END $$;

-- The drives that the clock judges: of which a rule is on, or an alert open.
CREATE FUNCTION alert_drives() RETURNS TABLE (project_id int, project text, drive_id int)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT p.id, p.code, d.id FROM drive d JOIN project p ON p.id = d.project_id
  WHERE EXISTS (SELECT FROM alert_rule r WHERE r.project_id = d.project_id AND r.is_on AND coalesce(r.drive_id, d.id) = d.id)
    OR EXISTS (SELECT FROM alert a WHERE a.drive_id = d.id AND a.cleared_at IS NULL)
  ORDER BY d.id
$$;

REVOKE EXECUTE ON FUNCTION settle_alerts, alerts_found, raise_alerts, alert_drives FROM PUBLIC;
GRANT EXECUTE ON FUNCTION raise_alerts, alert_drives TO drivebook_app;
