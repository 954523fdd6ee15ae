-- compatible: older builds keep working
-- Jobs: work that takes longer than a request may, such as a handover package. An instance of the service leases a job by the clock of the database, so that
-- none runs twice, and one whose instance has died is taken up again.

CREATE TYPE "job_state" AS ENUM ('waiting', 'running', 'done', 'failed');

CREATE TABLE "job" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "kind" TEXT NOT NULL,
    "input" JSONB NOT NULL DEFAULT '{}',
    "state" "job_state" NOT NULL DEFAULT 'waiting',
    "percent" INTEGER NOT NULL DEFAULT 0,
    "step" TEXT,
    "attempts" INTEGER NOT NULL DEFAULT 0,
    "asked_by" TEXT NOT NULL DEFAULT acting_subject(),
    "asked_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "started_at" TIMESTAMPTZ(3),
    "ended_at" TIMESTAMPTZ(3),
    "lease_until" TIMESTAMPTZ(3),
    "problem" TEXT,
    "result_file" TEXT,
    "result_name" TEXT,
    "result_type" TEXT,
    "result_bytes" BIGINT,
    "result_sha256" TEXT,
    "kept_until" TIMESTAMPTZ(3),

    CONSTRAINT "job_pkey" PRIMARY KEY ("id")
);

CREATE INDEX "job_project_id_id_idx" ON "job"("project_id", "id");
CREATE INDEX "job_state_id_idx" ON "job"("state", "id");
ALTER TABLE "job" ADD CONSTRAINT "job_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE job
  ADD CONSTRAINT job_kind CHECK (kind ~ '^[a-z][a-z_]{0,39}$'),
  ADD CONSTRAINT job_input CHECK (jsonb_typeof(input) = 'object'),
  ADD CONSTRAINT job_percent CHECK (percent BETWEEN 0 AND 100),
  ADD CONSTRAINT job_attempts CHECK (attempts >= 0),
  ADD CONSTRAINT job_leased CHECK ((state = 'running') = (lease_until IS NOT NULL)),
  ADD CONSTRAINT job_ended CHECK ((state IN ('done', 'failed')) = (ended_at IS NOT NULL) AND (ended_at IS NULL) = (kept_until IS NULL)),
  ADD CONSTRAINT job_problem CHECK ((state = 'failed') = (problem IS NOT NULL)),
  ADD CONSTRAINT job_result CHECK ((result_file IS NULL OR state = 'done') AND (result_file IS NULL) = (result_name IS NULL)
    AND (result_file IS NULL) = (result_type IS NULL) AND (result_file IS NULL) = (result_bytes IS NULL) AND (result_file IS NULL) = (result_sha256 IS NULL)),
  ADD CONSTRAINT job_result_file CHECK (result_file ~ '^[A-Za-z0-9][A-Za-z0-9.-]{0,99}$' AND result_sha256 ~ '^[0-9a-f]{64}$' AND result_bytes >= 0);

COMMENT ON TABLE job IS 'Work that takes longer than a request may, asked for by somebody of a project. No part of the record.';
COMMENT ON COLUMN job.attempts IS 'How often it was begun: an instance may only write to the attempt that it has leased.';
COMMENT ON COLUMN job.lease_until IS 'Until when the instance that runs it has it for itself, by the clock of the database; it is renewed while it runs.';
COMMENT ON COLUMN job.kept_until IS 'When it is removed, with its result.';

-- One of a kind at a time, and not many a day, in a project.
CREATE FUNCTION few_jobs() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  other int;
BEGIN
  PERFORM pg_advisory_xact_lock(hashtext('drivebook.job'), NEW.project_id);
  SELECT id INTO other FROM job WHERE project_id = NEW.project_id AND kind = NEW.kind AND state IN ('waiting', 'running') AND id <> NEW.id LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB006', CONSTRAINT = 'few_jobs', TABLE = TG_TABLE_NAME,
      MESSAGE = format('job %s of kind %s is waiting or running: wait for its end, or cancel it', other, NEW.kind);
  END IF;
  IF (SELECT count(*) FROM job WHERE project_id = NEW.project_id AND kind = NEW.kind AND asked_at > clock_timestamp() - interval '1 day') > 10 THEN
    RAISE EXCEPTION USING ERRCODE = 'DB006', CONSTRAINT = 'few_jobs', TABLE = TG_TABLE_NAME,
      MESSAGE = format('a project has at most 10 jobs of kind %s in 24 hours: take the result of one of them, or try again later', NEW.kind);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER few_jobs AFTER INSERT ON job FOR EACH ROW EXECUTE FUNCTION few_jobs();

SELECT hold_to_scope('job');

-- Leases the next job of some kinds, of any project. One that has been begun as often as is tried, without an end, has failed.
CREATE FUNCTION claim_job(p_kinds text[], p_lease_s int, p_attempts int, p_kept_s int)
RETURNS TABLE (id int, project_id int, project text, kind text, input jsonb, asked_by text, attempt int)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
#variable_conflict use_column
DECLARE
  next int;
BEGIN
  UPDATE job SET state = 'failed', lease_until = NULL, ended_at = clock_timestamp(), kept_until = clock_timestamp() + make_interval(secs => p_kept_s),
      problem = format('It was begun %s times, and the service ended each time before it did.', attempts)
    WHERE state = 'running' AND lease_until < clock_timestamp() AND attempts >= p_attempts AND kind = ANY (p_kinds);
  SELECT j.id INTO next FROM job j
    WHERE j.kind = ANY (p_kinds) AND (j.state = 'waiting' OR j.state = 'running' AND j.lease_until < clock_timestamp())
    ORDER BY j.id LIMIT 1 FOR UPDATE SKIP LOCKED;
  IF NOT FOUND THEN RETURN; END IF;
  RETURN QUERY UPDATE job j SET state = 'running', attempts = j.attempts + 1, percent = 0, step = NULL, started_at = clock_timestamp(),
      lease_until = clock_timestamp() + make_interval(secs => p_lease_s)
    FROM project p WHERE j.id = next AND p.id = j.project_id
    RETURNING j.id, j.project_id, p.code, j.kind, j.input, j.asked_by, j.attempts;
END $$;

-- Renews the lease of an attempt and says how far it is. False: it is no longer this attempt's, or was cancelled.
CREATE FUNCTION renew_job(p_id int, p_attempt int, p_percent int, p_step text, p_lease_s int) RETURNS boolean
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  UPDATE job SET percent = p_percent, step = p_step, lease_until = clock_timestamp() + make_interval(secs => p_lease_s)
    WHERE id = p_id AND attempts = p_attempt AND state = 'running';
  RETURN FOUND;
END $$;

-- Ends an attempt: done, with its result where it has one, or failed with a problem. False: as above.
CREATE FUNCTION settle_job(p_id int, p_attempt int, p_problem text, p_file text, p_name text, p_type text, p_bytes bigint, p_sha256 text, p_kept_s int) RETURNS boolean
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  UPDATE job SET state = CASE WHEN p_problem IS NULL THEN 'done'::job_state ELSE 'failed' END, percent = CASE WHEN p_problem IS NULL THEN 100 ELSE percent END,
      problem = p_problem, lease_until = NULL, ended_at = clock_timestamp(), kept_until = clock_timestamp() + make_interval(secs => p_kept_s),
      result_file = p_file, result_name = p_name, result_type = p_type, result_bytes = p_bytes, result_sha256 = p_sha256
    WHERE id = p_id AND attempts = p_attempt AND state = 'running';
  RETURN FOUND;
END $$;

-- Gives an attempt back that the end of its instance interrupts: it counts as none.
CREATE FUNCTION release_job(p_id int, p_attempt int) RETURNS boolean LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  UPDATE job SET state = 'waiting', lease_until = NULL, attempts = attempts - 1, percent = 0, step = NULL
    WHERE id = p_id AND attempts = p_attempt AND state = 'running';
  RETURN FOUND;
END $$;

-- Removes jobs whose time is over, and all but the newest results of each kind in a project; returns the results that stay, by project and file.
CREATE FUNCTION sweep_jobs(p_results int) RETURNS TABLE (project_id int, result_file text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
#variable_conflict use_column
BEGIN
  DELETE FROM job WHERE kept_until < clock_timestamp();
  UPDATE job SET result_file = NULL, result_name = NULL, result_type = NULL, result_bytes = NULL, result_sha256 = NULL
    WHERE id IN (SELECT r.id FROM (SELECT j.id, row_number() OVER (PARTITION BY j.project_id, j.kind ORDER BY j.id DESC) AS place
      FROM job j WHERE j.result_file IS NOT NULL) r WHERE r.place > p_results);
  RETURN QUERY SELECT j.project_id, j.result_file FROM job j WHERE j.result_file IS NOT NULL;
END $$;

REVOKE EXECUTE ON FUNCTION claim_job, renew_job, settle_job, release_job, sweep_jobs FROM PUBLIC;
GRANT EXECUTE ON FUNCTION claim_job, renew_job, settle_job, release_job, sweep_jobs TO drivebook_app;
