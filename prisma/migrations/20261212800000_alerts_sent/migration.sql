-- compatible: older builds keep working
-- An alert that was raised, acknowledged or cleared becomes a message to the webhooks that want it, in the same transaction. The data of the message bear the names of the API.
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

REVOKE EXECUTE ON FUNCTION send_alert, alert_instant FROM PUBLIC;
