-- compatible: older builds keep working
-- The moment that a figure is asked of: what is due, overdue or not yet drilled depends on it. Views call moment_asked() without a schema,
-- so that in report it is now, and in report_as_of the moment that was chosen.

CREATE FUNCTION moment_asked() RETURNS timestamptz LANGUAGE sql STABLE PARALLEL SAFE AS $$ SELECT now() $$;
COMMENT ON FUNCTION moment_asked() IS 'The moment that a figure is asked of: now, the beginning of the transaction.';

CREATE OR REPLACE FUNCTION history.stand_at(p_project_id int, p_instant timestamptz) RETURNS bigint LANGUAGE plpgsql AS $$
DECLARE
  n bigint;
BEGIN
  PERFORM pg_advisory_xact_lock_shared(hashtext('drivebook.history'), p_project_id);
  SELECT coalesce(max(number), 0) INTO n FROM history.change WHERE project_id = p_project_id AND made_at <= p_instant;
  PERFORM set_config('drivebook.as_of_change', n::text, true), set_config('drivebook.as_of_instant', n || ' ' || p_instant, true);
  RETURN n;
END $$;

-- The instant is that of stand_at() as long as its change is the one that is stood after; after another change, when that was made.
CREATE FUNCTION as_of.moment_asked() RETURNS timestamptz LANGUAGE sql STABLE PARALLEL SAFE AS $$
  SELECT coalesce(
    CASE WHEN split_part(current_setting('drivebook.as_of_instant', true), ' ', 1) = history.standing_change()::text
      THEN nullif(regexp_replace(current_setting('drivebook.as_of_instant', true), '^\d+ ', ''), '')::timestamptz END,
    (SELECT made_at FROM history.change WHERE project_id = public.scope_project() AND number = history.standing_change()))
$$;
COMMENT ON FUNCTION as_of.moment_asked() IS 'The moment that a figure is asked of: the instant given to history.stand_at(), or when the change that was chosen was made.';

-- The shift that holds an instant is found by halving.
CREATE INDEX "shift_drive_id_starts_at_idx" ON "shift"("drive_id", "starts_at");
CREATE INDEX ON history.shift (drive_id, starts_at);

