-- compatible: older builds keep working
-- Imports as jobs: what was uploaded with a job is kept until it has ended, and a job says what came of it. Imports are asked for more often than packages.

ALTER TABLE "job" ADD COLUMN "outcome" JSONB;

ALTER TABLE job
  ADD CONSTRAINT job_outcome CHECK (jsonb_typeof(outcome) = 'object'),
  ADD CONSTRAINT job_upload CHECK (input->>'upload' ~ '^[A-Za-z0-9][A-Za-z0-9.-]{0,99}$');

COMMENT ON COLUMN job.outcome IS 'What came of it, or has so far, in the terms of its kind: counts of an import.';

CREATE OR REPLACE FUNCTION few_jobs() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  other int;
  most int := CASE NEW.kind WHEN 'import' THEN 100 ELSE 10 END;
BEGIN
  PERFORM pg_advisory_xact_lock(hashtext('drivebook.job'), NEW.project_id);
  SELECT id INTO other FROM job WHERE project_id = NEW.project_id AND kind = NEW.kind AND state IN ('waiting', 'running') AND id <> NEW.id LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB006', CONSTRAINT = 'few_jobs', TABLE = TG_TABLE_NAME,
      MESSAGE = format('job %s of kind %s is waiting or running: wait for its end, or cancel it', other, NEW.kind);
  END IF;
  IF (SELECT count(*) FROM job WHERE project_id = NEW.project_id AND kind = NEW.kind AND asked_at > clock_timestamp() - interval '1 day') > most THEN
    RAISE EXCEPTION USING ERRCODE = 'DB006', CONSTRAINT = 'few_jobs', TABLE = TG_TABLE_NAME,
      MESSAGE = format('a project has at most %s jobs of kind %s in 24 hours: take the result of one of them, or try again later', most, NEW.kind);
  END IF;
  RETURN NULL;
END $$;

-- Says what came of an attempt so far. False: it is no longer this attempt's, or was cancelled.
CREATE FUNCTION note_job(p_id int, p_attempt int, p_outcome jsonb) RETURNS boolean LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  UPDATE job SET outcome = p_outcome WHERE id = p_id AND attempts = p_attempt AND state = 'running';
  RETURN FOUND;
END $$;

-- Removes jobs whose time is over, and all but the newest results of each kind in a project, of imports four times as many; returns the files that stay:
-- results, and what was uploaded with jobs that have not ended.
CREATE OR REPLACE FUNCTION sweep_jobs(p_results int) RETURNS TABLE (project_id int, result_file text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
#variable_conflict use_column
BEGIN
  DELETE FROM job WHERE kept_until < clock_timestamp();
  UPDATE job SET result_file = NULL, result_name = NULL, result_type = NULL, result_bytes = NULL, result_sha256 = NULL
    WHERE id IN (SELECT r.id FROM (SELECT j.id, j.kind, row_number() OVER (PARTITION BY j.project_id, j.kind ORDER BY j.id DESC) AS place
      FROM job j WHERE j.result_file IS NOT NULL) r WHERE r.place > CASE r.kind WHEN 'import' THEN 4 * p_results ELSE p_results END);
  RETURN QUERY SELECT j.project_id, j.result_file FROM job j WHERE j.result_file IS NOT NULL
    UNION ALL SELECT j.project_id, j.input->>'upload' FROM job j WHERE j.input->>'upload' IS NOT NULL AND j.state IN ('waiting', 'running');
END $$;

REVOKE EXECUTE ON FUNCTION note_job FROM PUBLIC;
GRANT EXECUTE ON FUNCTION note_job TO drivebook_app;
