-- A rule of acceptance says whether what is deemed accepted pays, and where two sides sign it is in force once both have agreed to it. The rules that stand
-- stay in force and pay nothing; nothing else changes. They have null in the new columns: what history has sealed of them stays as it was sealed.
ALTER TABLE "acceptance_rule" ADD COLUMN "pays" BOOLEAN, ADD COLUMN "in_force" BOOLEAN,
  ADD COLUMN "agreed_contractor" JSONB, ADD COLUMN "agreed_client" JSONB;
ALTER TABLE history.acceptance_rule ADD COLUMN "pays" BOOLEAN, ADD COLUMN "in_force" BOOLEAN,
  ADD COLUMN "agreed_contractor" JSONB, ADD COLUMN "agreed_client" JSONB;
ALTER TABLE acceptance_rule ADD CONSTRAINT acceptance_rule_pays CHECK (NOT pays OR days IS NOT NULL);
COMMENT ON COLUMN acceptance_rule.pays IS 'Whether valuations count what is deemed accepted under it; null: they do not.';
COMMENT ON COLUMN acceptance_rule.in_force IS 'Agreed by both sides, or set where two sides do not sign and it does not pay, else proposed; null: in force from before rules were agreed.';
COMMENT ON COLUMN acceptance_rule.agreed_contractor IS 'Who agreed to it for the contractor''s side: by, at, and party as code, name, kind, side; so agreed_client.';

ALTER TABLE "certified_line" ADD COLUMN "deemed_shifts" TEXT[];
ALTER TABLE history.certified_line ADD COLUMN "deemed_shifts" TEXT[];
COMMENT ON COLUMN certified_line.deemed_shifts IS 'Shifts, as date/name, whose records changed it and that were deemed accepted, not countersigned; null: none.';

SELECT history.keep(t) FROM unnest(ARRAY['acceptance_rule', 'certified_line']) t;

CREATE FUNCTION acceptance_rule_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  what text := format('the acceptance rule from %s', CASE TG_OP WHEN 'DELETE' THEN OLD.valid_from ELSE NEW.valid_from END);
  two boolean := takes_two_sides(CASE TG_OP WHEN 'DELETE' THEN OLD.project_id ELSE NEW.project_id END);
  asks boolean := TG_OP = 'UPDATE' AND NEW.agreed_client IS DISTINCT FROM OLD.agreed_client; -- to agree: what it says is written here
  is_new boolean;
  mine jsonb;
  other jsonb;
BEGIN
  is_new := TG_OP <> 'UPDATE' OR (NEW.valid_from, NEW.days, NEW.clause, coalesce(NEW.pays, false)) IS DISTINCT FROM (OLD.valid_from, OLD.days, OLD.clause, coalesce(OLD.pays, false));
  IF TG_OP <> 'INSERT' AND OLD.in_force IS NOT FALSE AND two AND is_new THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'acceptance_rule_agreed', TABLE = 'acceptance_rule',
      MESSAGE = format('%s is in force between two sides: it is ended by one from a later date', what);
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
  IF is_new THEN
    NEW.agreed_contractor := NULL; NEW.agreed_client := NULL; NEW.in_force := NOT two AND NOT coalesce(NEW.pays, false); -- other words are a proposal of their own
  ELSE
    NEW.agreed_contractor := OLD.agreed_contractor; NEW.agreed_client := OLD.agreed_client; NEW.pays := OLD.pays; NEW.in_force := OLD.in_force;
    IF NOT OLD.in_force AND NOT two AND NOT coalesce(OLD.pays, false) THEN NEW.in_force := true; END IF; -- put again where one side is enough by now
    IF NEW.in_force IS NOT FALSE OR NOT asks THEN RETURN NEW; END IF; -- to put the same words again is no agreement
  END IF;
  mine := party_of(NEW.project_id, actor);
  IF mine IS NULL AND asks THEN PERFORM hold_two_sides(NEW.project_id, 'acceptance_rule', what, NULL, NULL, 'agrees to'); END IF;
  IF mine IS NULL THEN RETURN NEW; END IF;
  IF (CASE mine->>'side' WHEN 'contractor' THEN NEW.agreed_contractor ELSE NEW.agreed_client END) IS NOT NULL THEN RETURN NEW; END IF;
  other := CASE mine->>'side' WHEN 'contractor' THEN NEW.agreed_client ELSE NEW.agreed_contractor END;
  mine := hold_two_sides(NEW.project_id, 'acceptance_rule', what, other->>'by', other->'party', 'agrees to');
  mine := jsonb_build_object('by', actor, 'at', to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"'), 'party', mine);
  IF mine->'party'->>'side' = 'contractor' THEN NEW.agreed_contractor := mine; ELSE NEW.agreed_client := mine; END IF;
  IF NEW.agreed_contractor IS NOT NULL AND NEW.agreed_client IS NOT NULL THEN NEW.in_force := true; END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER acceptance_rule_life BEFORE INSERT OR UPDATE OR DELETE ON acceptance_rule FOR EACH ROW EXECUTE FUNCTION acceptance_rule_life();

-- As report.shift_silence has it, now: what is certified must have been accepted by then.
CREATE FUNCTION is_paid_by_silence(s shift) RETURNS boolean LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT EXISTS (
  SELECT FROM project p
  CROSS JOIN LATERAL (SELECT timezone(p.time_zone, s.submitted_at)::date AS day) submitted
  CROSS JOIN LATERAL (
    SELECT days, pays FROM acceptance_rule WHERE project_id = s.project_id AND in_force IS NOT FALSE AND valid_from <= submitted.day ORDER BY valid_from DESC LIMIT 1
  ) r
  CROSS JOIN LATERAL (SELECT timezone(p.time_zone, (submitted.day + r.days + 1)::timestamp) AS at) due
  WHERE p.id = s.project_id AND s.state = 'submitted' AND r.pays AND due.at <= now() AND coalesce(s.disputed_at >= due.at, true))
$$;

CREATE OR REPLACE FUNCTION valuation_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  last valuation;
  open record;
BEGIN
  IF TG_OP <> 'INSERT' AND OLD.state = 'certified' THEN
    IF TG_OP = 'UPDATE' AND NEW IS NOT DISTINCT FROM OLD THEN RETURN NEW; END IF;
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_certified_stands', TABLE = 'valuation',
      MESSAGE = format('valuation %s is certified: it stands, and a correction goes into the next one', OLD.number);
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
  PERFORM lock_drive(NEW.drive_id);
  last := last_certified(NEW.drive_id);
  IF TG_OP = 'INSERT' THEN
    IF NEW.state <> 'draft' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_life', TABLE = 'valuation', MESSAGE = 'a valuation begins as a draft';
    END IF;
    IF NEW.number <> coalesce(last.number, 0) + 1 THEN
      RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'valuation_next', TABLE = 'valuation',
        MESSAGE = format('the next valuation of the drive is number %s', coalesce(last.number, 0) + 1);
    END IF;
    NEW.prepared_by := actor;
    NEW.prepared_at := clock_timestamp();
  ELSE
    IF NEW.state = 'draft' THEN
      NEW.agreed_by := NULL; NEW.agreed_at := NULL; NEW.digest := NULL;
      IF (NEW.cut_off, NEW.remark) IS DISTINCT FROM (OLD.cut_off, OLD.remark) THEN
        NEW.prepared_by := actor;
        NEW.prepared_at := clock_timestamp();
      END IF;
    ELSIF (NEW.cut_off, NEW.remark, NEW.prepared_by, NEW.prepared_at) IS DISTINCT FROM (OLD.cut_off, OLD.remark, OLD.prepared_by, OLD.prepared_at) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_life', TABLE = 'valuation', MESSAGE = 'an agreed valuation is made a draft again before it changes';
    ELSIF NEW.state = 'agreed' THEN
      NEW.agreed_by := actor;
      NEW.agreed_at := clock_timestamp();
    ELSE
      IF OLD.state <> 'agreed' OR (NEW.agreed_by, NEW.agreed_at, NEW.digest) IS DISTINCT FROM (OLD.agreed_by, OLD.agreed_at, OLD.digest) THEN
        RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_life', TABLE = 'valuation', MESSAGE = 'a valuation is agreed, and then certified as agreed';
      END IF;
      IF actor = OLD.agreed_by THEN
        RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'valuation',
          MESSAGE = format('valuation %s was agreed by %s: another person certifies it', OLD.number, actor);
      END IF;
      SELECT count(*) AS n, min(shift_date) AS first INTO open FROM shift
        WHERE drive_id = NEW.drive_id AND shift_date <= NEW.cut_off AND state <> 'countersigned' AND NOT is_paid_by_silence(shift);
      IF open.n > 0 THEN
        RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'valuation_open_shifts', TABLE = 'valuation',
          MESSAGE = format('%s shifts until %s are neither countersigned nor paid as deemed accepted, the first of %s', open.n, NEW.cut_off, open.first);
      END IF;
      NEW.certified_by := actor;
      NEW.certified_at := clock_timestamp();
    END IF;
  END IF;
  IF NEW.cut_off <= last.cut_off THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'valuation_cut_off_rises', TABLE = 'valuation',
      MESSAGE = format('the cut-off %s is not after that of valuation %s, %s', NEW.cut_off, last.number, last.cut_off);
  END IF;
  RETURN NEW;
END $$;

-- They answer more columns, and are put in again after the migrations.
DROP FUNCTION IF EXISTS report.ground_tile_of(int) CASCADE;
DROP FUNCTION IF EXISTS report.ground_cell_of(int) CASCADE;
DROP FUNCTION IF EXISTS report.ruling_class_of(int) CASCADE;
DROP FUNCTION IF EXISTS report.baseline_strip(text, text, text) CASCADE;
DROP FUNCTION IF EXISTS report.baseline_against_encountered(text, text, text) CASCADE;
DROP FUNCTION IF EXISTS report.draft_line_of(int, date) CASCADE;
DROP FUNCTION IF EXISTS report.valuation_account_of(json) CASCADE;
