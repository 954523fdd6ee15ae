-- compatible: older builds keep working
-- Webhooks: who is notified of what, and the messages on their way. A message is written in the transaction that causes it, and sent after its commit.

CREATE TYPE "webhook_delivery_state" AS ENUM ('pending', 'delivered', 'dead');

CREATE TABLE "webhook_endpoint" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "url" TEXT NOT NULL,
    "types" TEXT[],
    "enabled" BOOLEAN NOT NULL DEFAULT true,
    "disabled_because" TEXT,
    "secret_made_at" TIMESTAMPTZ(3),
    "previous_secret_ends_at" TIMESTAMPTZ(3),
    "set_by" TEXT NOT NULL DEFAULT acting_subject(),
    "set_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "webhook_endpoint_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "webhook_secret" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "endpoint_id" INTEGER NOT NULL,
    "salt" BYTEA NOT NULL,
    "fingerprint" TEXT NOT NULL,
    "made_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "ends_at" TIMESTAMPTZ(3),

    CONSTRAINT "webhook_secret_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "outgoing_message" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "message" TEXT NOT NULL DEFAULT 'msg_'::text || replace(gen_random_uuid()::text, '-'::text, ''::text),
    "type" TEXT NOT NULL,
    "occurred_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "body" JSONB NOT NULL,

    CONSTRAINT "outgoing_message_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "webhook_delivery" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "endpoint_id" INTEGER NOT NULL,
    "message_id" INTEGER NOT NULL,
    "state" "webhook_delivery_state" NOT NULL DEFAULT 'pending',
    "attempts" INTEGER NOT NULL DEFAULT 0,
    "next_at" TIMESTAMPTZ(3) DEFAULT CURRENT_TIMESTAMP,
    "last_at" TIMESTAMPTZ(3),
    "last_status" INTEGER,
    "last_error" TEXT,

    CONSTRAINT "webhook_delivery_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "webhook_endpoint_project_id_name_key" ON "webhook_endpoint"("project_id", "name");
CREATE UNIQUE INDEX "webhook_endpoint_id_project_id_key" ON "webhook_endpoint"("id", "project_id");
CREATE INDEX "webhook_secret_endpoint_id_idx" ON "webhook_secret"("endpoint_id");
CREATE UNIQUE INDEX "outgoing_message_message_key" ON "outgoing_message"("message");
CREATE UNIQUE INDEX "outgoing_message_id_project_id_key" ON "outgoing_message"("id", "project_id");
CREATE UNIQUE INDEX "webhook_delivery_endpoint_id_message_id_key" ON "webhook_delivery"("endpoint_id", "message_id");
CREATE INDEX "webhook_delivery_message_id_idx" ON "webhook_delivery"("message_id");
CREATE INDEX "webhook_delivery_endpoint_id_state_id_idx" ON "webhook_delivery"("endpoint_id", "state", "id");

ALTER TABLE "webhook_endpoint" ADD CONSTRAINT "webhook_endpoint_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "webhook_secret" ADD CONSTRAINT "webhook_secret_endpoint_id_project_id_fkey" FOREIGN KEY ("endpoint_id", "project_id") REFERENCES "webhook_endpoint"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "outgoing_message" ADD CONSTRAINT "outgoing_message_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "webhook_delivery" ADD CONSTRAINT "webhook_delivery_endpoint_id_project_id_fkey" FOREIGN KEY ("endpoint_id", "project_id") REFERENCES "webhook_endpoint"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "webhook_delivery" ADD CONSTRAINT "webhook_delivery_message_id_project_id_fkey" FOREIGN KEY ("message_id", "project_id") REFERENCES "outgoing_message"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

-- what is due is found without what is done
CREATE INDEX webhook_delivery_due ON webhook_delivery (endpoint_id, next_at, id) WHERE next_at IS NOT NULL;

ALTER TABLE webhook_endpoint
  ADD CONSTRAINT webhook_endpoint_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT webhook_endpoint_url CHECK (length(url) <= 2000 AND url ~ '^https?://[^\s/?#@\\]+([/?][^\s#\\]*)?$'),
  ADD CONSTRAINT webhook_endpoint_types CHECK (cardinality(types) > 0 AND types <@ ARRAY['alert.raised', 'alert.acknowledged', 'alert.cleared']),
  ADD CONSTRAINT webhook_endpoint_disabled CHECK (disabled_because IS NULL OR NOT enabled AND disabled_because ~ '\S');
ALTER TABLE webhook_secret
  ADD CONSTRAINT webhook_secret_salt CHECK (octet_length(salt) = 32);
ALTER TABLE outgoing_message
  ADD CONSTRAINT outgoing_message_name CHECK (message ~ '^msg_[0-9a-f]{32}$'),
  ADD CONSTRAINT outgoing_message_type CHECK (type ~ '^[a-z_]+(\.[a-z_]+)+$');
ALTER TABLE webhook_delivery
  ADD CONSTRAINT webhook_delivery_attempts CHECK (attempts >= 0),
  ADD CONSTRAINT webhook_delivery_next CHECK ((state = 'pending') = (next_at IS NOT NULL));

COMMENT ON TABLE webhook_endpoint IS 'An address outside that is notified of what happens in a project, by messages that are signed.';
COMMENT ON COLUMN webhook_endpoint.types IS 'Types of the messages that it wants.';
COMMENT ON COLUMN webhook_endpoint.disabled_because IS 'Why the service disabled it; null: it did not.';
COMMENT ON COLUMN webhook_endpoint.secret_made_at IS 'When its secret was made; null: it has none yet, and is sent nothing.';
COMMENT ON COLUMN webhook_endpoint.previous_secret_ends_at IS 'Until when messages are signed by the secret before it too; null: there was none.';
COMMENT ON TABLE webhook_secret IS 'What the signing secrets of an endpoint are derived from, together with the pepper of the service; neither gives a secret alone.';
COMMENT ON COLUMN webhook_secret.fingerprint IS 'Derived beside the secret: shows whether the pepper is still the one that it was made with.';
COMMENT ON COLUMN webhook_secret.ends_at IS 'Until when it signs beside a newer one; null: it is the newest.';
COMMENT ON TABLE outgoing_message IS 'Messages to endpoints, written in the transaction of what they report.';
COMMENT ON COLUMN outgoing_message.message IS 'Its id, the same at every attempt: webhook-id.';
COMMENT ON TABLE webhook_delivery IS 'A message on its way to an endpoint: pending, delivered, or dead after the last attempt.';
COMMENT ON COLUMN webhook_delivery.attempts IS 'Attempts since it was written or last sent again by hand.';
COMMENT ON COLUMN webhook_delivery.next_at IS 'When it is tried next; null: it is not.';
COMMENT ON COLUMN webhook_delivery.last_status IS 'HTTP status that answered the last attempt; null: none did.';

-- Who set it and when is said here. What the service disabled is enabled by hand.
CREATE FUNCTION webhook_endpoint_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF TG_OP = 'UPDATE' THEN
    NEW.set_by := OLD.set_by;
    NEW.set_at := OLD.set_at;
  END IF;
  IF NEW.enabled THEN NEW.disabled_because := NULL; END IF;
  IF TG_OP = 'UPDATE' AND NEW IS NOT DISTINCT FROM OLD THEN RETURN NEW; END IF;
  NEW.set_by := acting_subject();
  NEW.set_at := clock_timestamp();
  RETURN NEW;
END $$;

CREATE TRIGGER webhook_endpoint_life BEFORE INSERT OR UPDATE ON webhook_endpoint FOR EACH ROW EXECUTE FUNCTION webhook_endpoint_life();

-- Every message is sent once to each: their number is what a burst of messages is multiplied by.
CREATE FUNCTION few_webhook_endpoints() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF (SELECT count(*) FROM webhook_endpoint WHERE project_id = NEW.project_id) > 20 THEN
    RAISE EXCEPTION USING ERRCODE = 'DB006', CONSTRAINT = 'few_webhook_endpoints', TABLE = TG_TABLE_NAME,
      MESSAGE = 'a project has at most 20 webhooks: remove one first';
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER few_webhook_endpoints AFTER INSERT ON webhook_endpoint FOR EACH ROW EXECUTE FUNCTION few_webhook_endpoints();

SELECT hold_to_scope(t) FROM unnest(ARRAY['webhook_endpoint', 'webhook_secret', 'outgoing_message', 'webhook_delivery']) t;
SELECT history.keep('webhook_endpoint');

-- Writes a message for every enabled endpoint that wants its type, in the transaction that causes it. For triggers, which run for the owner.
-- Returns the id of the message; null when nobody wants it.
CREATE FUNCTION send_out(project_id int, type text, body jsonb) RETURNS text LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  wanting int[] := ARRAY(SELECT e.id FROM webhook_endpoint e
    WHERE e.project_id = $1 AND e.enabled AND e.secret_made_at IS NOT NULL AND e.types @> ARRAY[$2]);
  made outgoing_message;
BEGIN
  IF cardinality(wanting) = 0 THEN RETURN NULL; END IF;
  INSERT INTO outgoing_message (project_id, type, occurred_at, body) VALUES ($1, $2, clock_timestamp(), $3) RETURNING * INTO made;
  INSERT INTO webhook_delivery (project_id, endpoint_id, message_id, next_at) SELECT $1, e, made.id, made.occurred_at FROM unnest(wanting) e;
  PERFORM pg_notify('drivebook_webhook', '');
  RETURN made.message;
END $$;

-- What the sender works by. It is of no project: it sees what is due in all of them, and nothing else.

-- Deliveries that are due, those of an endpoint in the order of their time, but for the ones under way.
CREATE FUNCTION due_webhook_deliveries(p_busy int[], p_most int, p_each int)
RETURNS TABLE (delivery int, endpoint int, url text, message text, payload text, attempts int, secrets jsonb)
LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp SET timezone = 'UTC' AS $$
  SELECT d.id, e.id, e.url, m.message,
    json_build_object('type', m.type, 'timestamp', to_char(m.occurred_at, 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"'), 'project', p.code, 'data', m.body)::text,
    d.attempts,
    (SELECT jsonb_agg(jsonb_build_object('salt', encode(s.salt, 'base64'), 'fingerprint', s.fingerprint) ORDER BY s.id DESC)
      FROM webhook_secret s WHERE s.endpoint_id = e.id AND coalesce(s.ends_at > clock_timestamp(), true))
  FROM webhook_endpoint e
  JOIN project p ON p.id = e.project_id
  CROSS JOIN LATERAL (
    SELECT w.* FROM webhook_delivery w WHERE w.endpoint_id = e.id AND w.next_at <= clock_timestamp() AND w.id <> ALL (p_busy)
    ORDER BY w.next_at, w.id LIMIT greatest(0, p_each - (SELECT count(*) FROM webhook_delivery b WHERE b.id = ANY (p_busy) AND b.endpoint_id = e.id))) d
  JOIN outgoing_message m ON m.id = d.message_id
  WHERE e.enabled
  ORDER BY d.next_at, d.id LIMIT greatest(0, p_most - cardinality(p_busy))
$$;

-- In how long the next one is due that may begin then; null: none is pending.
CREATE FUNCTION next_webhook_delivery_s(p_busy int[], p_each int) RETURNS double precision LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT extract(epoch FROM min(d.next_at) - clock_timestamp()) FROM webhook_endpoint e
  CROSS JOIN LATERAL (SELECT w.next_at FROM webhook_delivery w WHERE w.endpoint_id = e.id AND w.next_at IS NOT NULL AND w.id <> ALL (p_busy)
    ORDER BY w.next_at LIMIT 1) d
  WHERE e.enabled AND (SELECT count(*) FROM webhook_delivery b WHERE b.id = ANY (p_busy) AND b.endpoint_id = e.id) < p_each
$$;

-- What an attempt came to. p_retry_s: in how long it is tried again; null: never. p_rests: whether the endpoint is left alone until then.
CREATE FUNCTION settle_webhook_delivery(p_delivery int, p_delivered boolean, p_status int, p_error text, p_retry_s double precision, p_rests boolean)
RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  retry_at timestamptz := clock_timestamp() + make_interval(secs => p_retry_s);
  settled webhook_delivery;
BEGIN
  UPDATE webhook_delivery SET attempts = attempts + 1, last_at = clock_timestamp(), last_status = p_status, last_error = p_error,
    state = CASE WHEN p_delivered THEN 'delivered' WHEN p_retry_s IS NULL THEN 'dead' ELSE 'pending' END::webhook_delivery_state,
    next_at = CASE WHEN p_delivered THEN NULL ELSE retry_at END
    WHERE id = p_delivery AND state = 'pending' RETURNING * INTO settled;
  IF p_rests AND p_retry_s IS NOT NULL THEN
    UPDATE webhook_delivery SET next_at = retry_at WHERE endpoint_id = settled.endpoint_id AND next_at < retry_at;
  END IF;
END $$;

-- It answered 410 Gone: it is sent nothing more until it is enabled again.
CREATE FUNCTION retire_webhook_endpoint(p_delivery int) RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  gone webhook_endpoint := (SELECT e FROM webhook_endpoint e JOIN webhook_delivery d ON d.endpoint_id = e.id WHERE d.id = p_delivery);
BEGIN
  IF gone IS NULL THEN RETURN; END IF;
  PERFORM set_config('drivebook.project', gone.project_id::text, true), set_config('drivebook.actor', 'webhooks', true),
    set_config('drivebook.credential', 'service', true), set_config('drivebook.reason', 'The endpoint answered 410 Gone', true);
  UPDATE webhook_endpoint SET enabled = false, disabled_because = 'It answered 410 Gone' WHERE id = gone.id AND enabled;
  UPDATE webhook_delivery SET state = 'dead', next_at = NULL, last_error = coalesce(last_error, 'The endpoint answered another message with 410 Gone')
    WHERE endpoint_id = gone.id AND next_at IS NOT NULL;
END $$;

-- Messages that are done with, and older than that many days, a thousand at a time.
CREATE FUNCTION remove_old_messages(p_days int) RETURNS void LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp AS $$
  DELETE FROM outgoing_message WHERE id IN (
    SELECT m.id FROM outgoing_message m WHERE m.occurred_at < clock_timestamp() - make_interval(days => p_days)
      AND NOT EXISTS (SELECT FROM webhook_delivery d WHERE d.message_id = m.id AND d.state = 'pending') ORDER BY m.id LIMIT 1000)
$$;

REVOKE EXECUTE ON FUNCTION send_out, due_webhook_deliveries, next_webhook_delivery_s, settle_webhook_delivery, retire_webhook_endpoint, remove_old_messages FROM PUBLIC;
GRANT EXECUTE ON FUNCTION due_webhook_deliveries, next_webhook_delivery_s, settle_webhook_delivery, retire_webhook_endpoint, remove_old_messages TO drivebook_app;
