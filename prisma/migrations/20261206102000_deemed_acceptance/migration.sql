-- compatible: older builds keep working
-- When a shift was submitted, that the other side disputes it, and after how many days without an answer it counts as accepted: no signature, and
-- shown as what it is.

CREATE TABLE "acceptance_rule" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "valid_from" DATE NOT NULL,
    "days" INTEGER,
    "clause" TEXT NOT NULL,

    CONSTRAINT "acceptance_rule_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "acceptance_rule_project_id_valid_from_key" ON "acceptance_rule"("project_id", "valid_from");
ALTER TABLE "acceptance_rule" ADD CONSTRAINT "acceptance_rule_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE acceptance_rule
  ADD CONSTRAINT acceptance_rule_days CHECK (days BETWEEN 1 AND 365),
  ADD CONSTRAINT acceptance_rule_clause CHECK (clause ~ '\S');
COMMENT ON TABLE acceptance_rule IS 'From a date on: after how many calendar days a submitted shift counts as accepted when the other side neither countersigned nor disputed it.';
COMMENT ON COLUMN acceptance_rule.days IS 'Null: from that date on silence accepts nothing.';
COMMENT ON COLUMN acceptance_rule.clause IS 'What the contract says, or where.';
SELECT hold_to_scope('acceptance_rule'), history.keep('acceptance_rule');

ALTER TABLE "shift" ADD COLUMN "submitted_at" TIMESTAMPTZ(3), ADD COLUMN "disputed_by" TEXT, ADD COLUMN "disputed_at" TIMESTAMPTZ(3),
  ADD COLUMN "dispute_reason" TEXT, ADD COLUMN "disputed_for" JSONB;
ALTER TABLE history.shift ADD COLUMN "submitted_at" TIMESTAMPTZ(3), ADD COLUMN "disputed_by" TEXT, ADD COLUMN "disputed_at" TIMESTAMPTZ(3),
  ADD COLUMN "dispute_reason" TEXT, ADD COLUMN "disputed_for" JSONB;
SELECT history.keep('shift');
COMMENT ON COLUMN shift.submitted_at IS 'When what stands was submitted: another version begins anew. Null: a draft, or submitted before it was kept.';
COMMENT ON COLUMN shift.dispute_reason IS 'Why the other side does not accept what was submitted; gone with the next version.';
COMMENT ON COLUMN shift.disputed_for IS 'For which party it was disputed: code, name, kind, side at that moment.';

-- Of what stands, from the history: the change that brought the version that was submitted.
ALTER TABLE shift DISABLE TRIGGER shift_life, DISABLE TRIGGER with_parties, DISABLE TRIGGER shift_balances;
UPDATE shift s SET submitted_at = (
  SELECT max(c.made_at) FROM history.shift v JOIN history.change c ON c.project_id = v.project_id AND c.number = v.from_change
  WHERE v.id = s.id AND v.state = 'submitted' AND v.digest = s.digest
    AND NOT EXISTS (SELECT FROM history.shift b WHERE b.id = v.id AND b.to_change = v.from_change AND b.state = 'submitted' AND b.digest = v.digest))
WHERE s.state <> 'draft';
ALTER TABLE shift ENABLE TRIGGER shift_life, ENABLE TRIGGER with_parties, ENABLE TRIGGER shift_balances;

ALTER TABLE shift
  ADD CONSTRAINT shift_submitted CHECK (state <> 'draft' OR submitted_at IS NULL),
  ADD CONSTRAINT shift_disputed CHECK (num_nulls(disputed_by, disputed_at, dispute_reason) IN (0, 3) AND (disputed_at IS NULL OR state = 'submitted')
    AND (dispute_reason IS NULL OR dispute_reason ~ '\S'));

CREATE OR REPLACE FUNCTION shift_life() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  actor text := acting_subject();
  rewritten boolean;
  why text;
BEGIN
  IF TG_OP = 'DELETE' THEN
    IF OLD.state = 'countersigned' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = format('%s is countersigned: it cannot be removed', shift_words(OLD));
    END IF;
    RETURN OLD;
  END IF;
  IF TG_OP = 'INSERT' THEN
    IF NEW.state = 'countersigned' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = 'a shift is submitted before it is countersigned';
    END IF;
    NEW.posted_by := ARRAY[actor];
    NEW.submitted_at := CASE NEW.state WHEN 'submitted' THEN clock_timestamp() END;
    NEW.disputed_by := NULL; NEW.disputed_at := NULL; NEW.dispute_reason := NULL; NEW.disputed_for := NULL;
    RETURN NEW;
  END IF;
  -- its digest says its state too, and goes with it
  rewritten := (NEW.id, NEW.project_id, NEW.drive_id, NEW.shift_date, NEW.calendar_shift_id, NEW.starts_at, NEW.ends_at, NEW.crew_lead, NEW.remark)
    IS DISTINCT FROM (OLD.id, OLD.project_id, OLD.drive_id, OLD.shift_date, OLD.calendar_shift_id, OLD.starts_at, OLD.ends_at, OLD.crew_lead, OLD.remark);
  why := NEW.dispute_reason;
  NEW.posted_by := OLD.posted_by;
  NEW.countersigned_by := NULL;
  NEW.countersigned_at := NULL;
  NEW.submitted_at := OLD.submitted_at;
  NEW.disputed_by := OLD.disputed_by; NEW.disputed_at := OLD.disputed_at; NEW.dispute_reason := OLD.dispute_reason; NEW.disputed_for := OLD.disputed_for;
  IF NOT rewritten AND (NEW.state, NEW.digest) = (OLD.state, OLD.digest) AND why IS DISTINCT FROM OLD.dispute_reason AND why IS NOT NULL THEN
    IF OLD.state <> 'submitted' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_disputed', TABLE = 'shift',
        MESSAGE = format('%s is %s: only a submitted shift is disputed', shift_words(OLD), OLD.state);
    END IF;
    IF actor = ANY (OLD.posted_by) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'shift',
        MESSAGE = format('%s was posted by %s: another person disputes it', shift_words(OLD), actor);
    END IF;
    NEW.dispute_reason := why; NEW.disputed_by := actor; NEW.disputed_at := clock_timestamp();
    RETURN NEW;
  END IF;
  IF OLD.state = 'countersigned' THEN
    IF rewritten OR NEW.state <> 'draft' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = format('%s is countersigned: reopen it before you change it', shift_words(OLD));
    END IF;
    IF NOT coalesce(current_setting('drivebook.reason', true), '') ~ '\S' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_reopened', TABLE = 'shift',
        MESSAGE = format('%s is reopened with a reason only', shift_words(OLD));
    END IF;
    IF actor = ANY (OLD.posted_by) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'shift',
        MESSAGE = format('%s was posted by %s: another person reopens it', shift_words(OLD), actor);
    END IF;
  ELSIF NEW.state = 'countersigned' THEN
    IF rewritten OR OLD.state <> 'submitted' OR NEW.digest <> OLD.digest THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'shift_countersigned', TABLE = 'shift',
        MESSAGE = format('%s is submitted before it is countersigned', shift_words(OLD));
    END IF;
    IF actor = ANY (OLD.posted_by) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'shift',
        MESSAGE = format('%s was posted by %s: another person countersigns it', shift_words(OLD), actor);
    END IF;
    NEW.countersigned_by := actor;
    NEW.countersigned_at := clock_timestamp();
  ELSIF actor <> ALL (OLD.posted_by) THEN
    NEW.posted_by := OLD.posted_by || actor;
  END IF;
  -- a dispute ends with what it was about: another version, or the signature
  IF NEW.state <> 'submitted' OR rewritten OR (NEW.state, NEW.digest) <> (OLD.state, OLD.digest) THEN
    NEW.disputed_by := NULL; NEW.disputed_at := NULL; NEW.dispute_reason := NULL; NEW.disputed_for := NULL;
    NEW.submitted_at := CASE NEW.state WHEN 'submitted' THEN clock_timestamp() WHEN 'countersigned' THEN OLD.submitted_at END;
  END IF;
  RETURN NEW;
END $$;

CREATE OR REPLACE FUNCTION shift_with_parties() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  does text;
BEGIN
  IF TG_OP = 'INSERT' THEN
    NEW.posted_for := party_of(NEW.project_id, acting_subject());
    NEW.countersigned_for := NULL;
    RETURN NEW;
  END IF;
  NEW.posted_for := OLD.posted_for;
  NEW.countersigned_for := OLD.countersigned_for;
  IF NEW IS NOT DISTINCT FROM OLD THEN RETURN NEW; END IF;
  NEW.countersigned_for := NULL;
  does := CASE WHEN NEW.disputed_at IS NOT NULL AND NEW.disputed_at IS DISTINCT FROM OLD.disputed_at THEN 'disputes' WHEN NEW.state = 'countersigned' THEN 'countersigns'
    WHEN OLD.state = 'countersigned' THEN 'reopens' END;
  IF does IS NULL THEN
    NEW.posted_for := party_of(NEW.project_id, acting_subject());
    RETURN NEW;
  END IF;
  -- the document is whole by whoever wrote it last; who made a key is not other than any key that wrote it
  PERFORM hold_other_than_maker(NEW.project_id, 'shift', shift_words(OLD), OLD.posted_by, does);
  NEW.countersigned_for := hold_two_sides(NEW.project_id, 'shift', shift_words(OLD), OLD.posted_by[cardinality(OLD.posted_by)], OLD.posted_for, does);
  IF does = 'disputes' THEN NEW.disputed_for := NEW.countersigned_for; END IF;
  IF does <> 'countersigns' THEN NEW.countersigned_for := NULL; END IF;
  RETURN NEW;
END $$;
