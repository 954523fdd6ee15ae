-- compatible: older builds keep working
-- Alerts are sent to the webhooks that want them, and no alert that cannot be worked out refuses what is written.

-- An alert that was raised, acknowledged or cleared becomes a message, in the same transaction. The data of the message bear the names of the API.
CREATE FUNCTION send_alert() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  said jsonb;
BEGIN
  IF NOT EXISTS (SELECT FROM webhook_endpoint WHERE project_id = NEW.project_id AND enabled) THEN RETURN NULL; END IF;
  SELECT jsonb_build_object('number', NEW.number, 'drive', d.code, 'kind', NEW.kind, 'rule', NEW.rule, 'subject', NEW.subject,
      'value', NEW.value::text, 'limit', NEW.limit_value::text, 'unit', NEW.unit, 'text', NEW.text,
      'state', CASE WHEN NEW.cleared_at IS NULL THEN 'open' ELSE 'cleared' END, 'raisedAt', alert_instant(NEW.raised_at), 'raisedBy', NEW.raised_by,
      'acknowledgedAt', alert_instant(NEW.acknowledged_at), 'acknowledgedBy', NEW.acknowledged_by, 'acknowledgement', NEW.acknowledgement,
      'clearedAt', alert_instant(NEW.cleared_at), 'clearedBy', NEW.cleared_by, 'clearance', NEW.clearance,
      'caution', 'Decision support: it shows what the record holds, which may be late or wrong, and decides nothing. No alert does not mean that there is no danger. The responsible person and the local code decide.')
    INTO said FROM drive d WHERE d.id = NEW.drive_id;
  IF TG_OP = 'INSERT' THEN
    PERFORM send_out(NEW.project_id, 'alert.raised', said);
    RETURN NULL;
  END IF;
  IF OLD.acknowledged_at IS NULL AND NEW.acknowledged_at IS NOT NULL THEN PERFORM send_out(NEW.project_id, 'alert.acknowledged', said); END IF;
  IF OLD.cleared_at IS NULL AND NEW.cleared_at IS NOT NULL THEN PERFORM send_out(NEW.project_id, 'alert.cleared', said); END IF;
  RETURN NULL;
END $$;

-- ISO 8601 in UTC, to the millisecond.
CREATE FUNCTION alert_instant(at timestamptz) RETURNS text LANGUAGE sql IMMUTABLE AS $$
  SELECT to_char(at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"')
$$;

CREATE TRIGGER send_alert AFTER INSERT OR UPDATE ON alert FOR EACH ROW EXECUTE FUNCTION send_alert();

-- As before, but that a condition which cannot be worked out leaves the record as it was written: it is reported in the log of the database, and the
-- clock tries it again. What asks for the transaction to be repeated is passed on.
CREATE OR REPLACE FUNCTION history.raise_alerts() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
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

REVOKE EXECUTE ON FUNCTION send_alert, alert_instant FROM PUBLIC;
