-- Logs side by side: which face of the opening a log maps and for whom. A place may have several; which of them rules is
-- proposed by one person, with a reason, and agreed by another. Logs that stand mapped the face, for nobody in particular.
ALTER TABLE "ground_log_sheet" ADD COLUMN "mapped_place" TEXT NOT NULL DEFAULT 'face',
  ADD COLUMN "mapped_for" TEXT,
  ADD COLUMN "ruling_state" TEXT,
  ADD COLUMN "ruling_reason" TEXT,
  ADD COLUMN "ruling_proposed_by" TEXT,
  ADD COLUMN "ruling_proposed_at" TIMESTAMPTZ(3),
  ADD COLUMN "ruling_agreed_by" TEXT,
  ADD COLUMN "ruling_agreed_at" TIMESTAMPTZ(3);

DROP INDEX "ground_log_sheet_drive_id_from_m_key";
CREATE INDEX "ground_log_sheet_drive_id_from_m_name_idx" ON "ground_log_sheet"("drive_id", "from_m", "name");

ALTER TABLE ground_log_sheet
  ADD CONSTRAINT ground_log_mapped_place CHECK (mapped_place IN ('face', 'crown', 'left_wall', 'right_wall', 'invert', 'full_section')),
  ADD CONSTRAINT ground_log_mapped_for CHECK (mapped_for IN ('contractor', 'supervisor', 'client', 'designer')),
  ADD CONSTRAINT ground_log_ruling CHECK (CASE ruling_state
    WHEN 'proposed' THEN num_nulls(ruling_reason, ruling_proposed_by, ruling_proposed_at) = 0 AND num_nulls(ruling_agreed_by, ruling_agreed_at) = 2
    WHEN 'agreed' THEN num_nulls(ruling_reason, ruling_proposed_by, ruling_proposed_at, ruling_agreed_by, ruling_agreed_at) = 0
    ELSE num_nulls(ruling_state, ruling_reason, ruling_proposed_by, ruling_proposed_at, ruling_agreed_by, ruling_agreed_at) = 6 END),
  DROP CONSTRAINT ground_log_once,
  -- one log a place, face of the opening and party
  ADD CONSTRAINT ground_log_once EXCLUDE USING gist (drive_id WITH =, mapped_place WITH =, coalesce(mapped_for, '') WITH =, numrange(from_m, to_m) WITH &&),
  ADD CONSTRAINT ground_log_ruling_once EXCLUDE USING gist (drive_id WITH =, numrange(from_m, to_m) WITH &&) WHERE (ruling_state = 'agreed');

COMMENT ON COLUMN ground_log_sheet.ruling_state IS 'proposed: to rule over the other logs of its place; agreed by another person: it rules; null: neither.';

-- The life of the decision which log rules. Who and when is said here, whatever the statement says; what is agreed is what was
-- proposed: a log that is proposed or agreed does not change but for values that are computed from it.
CREATE FUNCTION ground_log_ruling_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  why text := nullif(btrim(coalesce(current_setting('drivebook.reason', true), '')), '');
  beside constant text[] := ARRAY['strength_class', 'q', 'q_class', 'q_rqd_percent', 'q_jn_counted', 'q_jr_counted', 'q_jw_counted', 'q_srf_counted',
    'q_lowest', 'q_lowest_class', 'q_lowest_of', 'q_highest', 'q_highest_class', 'q_highest_of', 'orientation_proposal', 'rmr_strength_rating',
    'rmr_rqd_rating', 'rmr_spacing_rating', 'rmr_condition_rating', 'rmr_groundwater_rating', 'rmr_orientation_rating', 'rmr', 'rmr_class',
    'ruling_state', 'ruling_reason', 'ruling_proposed_by', 'ruling_proposed_at', 'ruling_agreed_by', 'ruling_agreed_at'];
BEGIN
  IF TG_OP = 'DELETE' THEN
    IF OLD.ruling_state IS NULL THEN RETURN OLD; END IF;
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'ground_log_ruling_stands', TABLE = 'ground_log_sheet',
      MESSAGE = format('ground log %s is %s as the ruling log: take that back before you remove it', OLD.name, OLD.ruling_state);
  END IF;
  IF TG_OP = 'INSERT' THEN
    IF NEW.ruling_state IS NULL THEN RETURN NEW; END IF;
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'ground_log_ruling_stands', TABLE = 'ground_log_sheet',
      MESSAGE = 'a ground log is written before it is proposed as the ruling log';
  END IF;
  IF OLD.ruling_state IS NOT NULL AND to_jsonb(NEW) - beside IS DISTINCT FROM to_jsonb(OLD) - beside THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'ground_log_ruling_stands', TABLE = 'ground_log_sheet',
      MESSAGE = format('ground log %s is %s as the ruling log: take that back before you change it', OLD.name, OLD.ruling_state);
  END IF;
  NEW.ruling_reason := OLD.ruling_reason;
  NEW.ruling_proposed_by := OLD.ruling_proposed_by; NEW.ruling_proposed_at := OLD.ruling_proposed_at;
  NEW.ruling_agreed_by := OLD.ruling_agreed_by; NEW.ruling_agreed_at := OLD.ruling_agreed_at;
  IF NEW.ruling_state IS NOT DISTINCT FROM OLD.ruling_state THEN RETURN NEW; END IF;
  IF (coalesce(OLD.ruling_state, ''), coalesce(NEW.ruling_state, '')) NOT IN (('', 'proposed'), ('proposed', 'agreed'), ('proposed', ''), ('agreed', '')) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'ground_log_ruling_stands', TABLE = 'ground_log_sheet',
      MESSAGE = format('ground log %s is %s as the ruling log: it cannot become %s', OLD.name, coalesce(OLD.ruling_state, 'not proposed'), NEW.ruling_state);
  END IF;
  IF OLD.ruling_state IS NOT NULL AND actor = OLD.ruling_proposed_by AND (OLD.ruling_state = 'agreed' OR NEW.ruling_state = 'agreed') THEN
    RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'ground_log_sheet',
      MESSAGE = format('ground log %s was proposed as the ruling log by %s: another person %s it', OLD.name, actor,
        CASE NEW.ruling_state WHEN 'agreed' THEN 'agrees to' ELSE 'withdraws' END);
  END IF;
  IF why IS NULL AND (NEW.ruling_state = 'proposed' OR OLD.ruling_state = 'agreed') THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'ground_log_ruling_reason', TABLE = 'ground_log_sheet',
      MESSAGE = format('ground log %s is %s as the ruling log with a reason only', OLD.name, coalesce(NEW.ruling_state, 'withdrawn'));
  END IF;
  IF NEW.ruling_state IS NULL THEN
    NEW.ruling_reason := NULL; NEW.ruling_proposed_by := NULL; NEW.ruling_proposed_at := NULL; NEW.ruling_agreed_by := NULL; NEW.ruling_agreed_at := NULL;
  ELSIF NEW.ruling_state = 'proposed' THEN
    NEW.ruling_reason := why; NEW.ruling_proposed_by := actor; NEW.ruling_proposed_at := clock_timestamp();
  ELSE
    NEW.ruling_agreed_by := actor; NEW.ruling_agreed_at := clock_timestamp();
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER ground_log_ruling_life BEFORE INSERT OR UPDATE OR DELETE ON ground_log_sheet FOR EACH ROW EXECUTE FUNCTION ground_log_ruling_life();

ALTER TABLE history.ground_log_sheet ADD COLUMN mapped_place TEXT,
  ADD COLUMN mapped_for TEXT,
  ADD COLUMN ruling_state TEXT,
  ADD COLUMN ruling_reason TEXT,
  ADD COLUMN ruling_proposed_by TEXT,
  ADD COLUMN ruling_proposed_at TIMESTAMPTZ(3),
  ADD COLUMN ruling_agreed_by TEXT,
  ADD COLUMN ruling_agreed_at TIMESTAMPTZ(3);
SELECT history.keep('ground_log_sheet');

-- They answer more columns.
DROP FUNCTION IF EXISTS report.rock_mass_in_intervals(text, text, numeric);
DROP VIEW IF EXISTS report.rock_mass_by_drive;
DROP FUNCTION IF EXISTS report.rock_mass_of(int, numeric);
