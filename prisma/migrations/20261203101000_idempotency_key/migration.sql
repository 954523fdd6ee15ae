-- Answers to requests that must not be carried out twice, kept for a day under the caller's key. The row comes with the
-- effect, in one transaction. It is no part of the record and not in history: what the request did is there, under its id.
CREATE TABLE "idempotency_key" (
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "actor" TEXT NOT NULL DEFAULT acting_subject(),
    "route" TEXT NOT NULL,
    "key" TEXT NOT NULL,
    "fingerprint" CHAR(64) NOT NULL,
    "request" TEXT NOT NULL,
    "made_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "status" INTEGER NOT NULL,
    "headers" JSONB NOT NULL,
    "body" TEXT,

    CONSTRAINT "idempotency_key_pkey" PRIMARY KEY ("project_id", "actor", "route", "key")
);

CREATE INDEX "idempotency_key_project_id_made_at_idx" ON "idempotency_key"("project_id", "made_at");
ALTER TABLE "idempotency_key" ADD CONSTRAINT "idempotency_key_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE idempotency_key
  ADD CONSTRAINT idempotency_key_length CHECK (length(key) BETWEEN 1 AND 255),
  ADD CONSTRAINT idempotency_key_answer CHECK (status BETWEEN 200 AND 299 AND jsonb_typeof(headers) = 'object');

COMMENT ON TABLE idempotency_key IS 'Answers kept for a day, so that a POST repeated with its key is not carried out twice. Not part of the record, not in history.';
COMMENT ON COLUMN idempotency_key.actor IS 'Who sent the request; nobody else meets the key.';
COMMENT ON COLUMN idempotency_key.route IS 'Method and route, such as POST /v1/projects/:project/….';
COMMENT ON COLUMN idempotency_key.fingerprint IS 'SHA-256 of the request: its address, If-Match, X-Reason and body.';
COMMENT ON COLUMN idempotency_key.request IS 'Id of the request that was carried out.';
COMMENT ON COLUMN idempotency_key.body IS 'The answer as it was sent; none where it held a secret.';

SELECT hold_to_scope('idempotency_key');
