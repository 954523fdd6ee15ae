-- The class of the ground by the contract: proposed by one party, agreed or disputed by another person, withdrawn with a reason.
CREATE TYPE "class_decision_state" AS ENUM ('proposed', 'agreed', 'disputed', 'withdrawn');

CREATE TABLE "class_decision" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "number" INTEGER NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "ground_class_id" INTEGER NOT NULL,
    "state" "class_decision_state" NOT NULL DEFAULT 'proposed',
    "contractor_representative" TEXT,
    "employer_representative" TEXT,
    "remark" TEXT,
    "proposed_by" TEXT NOT NULL DEFAULT acting_subject(),
    "proposed_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "agreed_by" TEXT,
    "agreed_at" TIMESTAMPTZ(3),
    "disputed_by" TEXT,
    "disputed_at" TIMESTAMPTZ(3),
    "dispute_reason" TEXT,
    "withdrawn_by" TEXT,
    "withdrawn_at" TIMESTAMPTZ(3),
    "withdrawal_reason" TEXT,

    CONSTRAINT "class_decision_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "class_decision_drive_id_number_key" ON "class_decision"("drive_id", "number");
CREATE INDEX "class_decision_drive_id_from_m_idx" ON "class_decision"("drive_id", "from_m");
CREATE INDEX "class_decision_ground_class_id_idx" ON "class_decision"("ground_class_id");
ALTER TABLE "class_decision" ADD CONSTRAINT "class_decision_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "class_decision_ground_class_id_project_id_fkey" FOREIGN KEY ("ground_class_id", "project_id") REFERENCES "ground_class"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE class_decision
  ADD CONSTRAINT class_decision_number CHECK (number > 0),
  ADD CONSTRAINT class_decision_has_length CHECK (from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT class_decision_agreed CHECK (
    (agreed_by IS NULL) = (agreed_at IS NULL) AND (state <> 'agreed' OR agreed_by IS NOT NULL) AND (state NOT IN ('proposed', 'disputed') OR agreed_by IS NULL)),
  ADD CONSTRAINT class_decision_both_parties CHECK (
    agreed_by IS NULL OR (contractor_representative IS NOT NULL AND contractor_representative ~ '\S'
      AND employer_representative IS NOT NULL AND employer_representative ~ '\S')),
  ADD CONSTRAINT class_decision_disputed CHECK (
    (disputed_by IS NULL) = (disputed_at IS NULL) AND (disputed_by IS NULL) = (dispute_reason IS NULL)
    AND (state <> 'disputed' OR disputed_by IS NOT NULL) AND (state <> 'proposed' OR disputed_by IS NULL)),
  ADD CONSTRAINT class_decision_withdrawn CHECK (
    (state = 'withdrawn') = (withdrawn_by IS NOT NULL) AND (withdrawn_by IS NULL) = (withdrawn_at IS NULL)
    AND (withdrawn_by IS NULL) = (withdrawal_reason IS NULL)),
  -- one place, one decision; what was withdrawn makes room
  ADD CONSTRAINT class_decision_once EXCLUDE USING gist (drive_id WITH =, numrange(from_m, to_m) WITH &&) WHERE (state <> 'withdrawn');

COMMENT ON TABLE class_decision IS 'Class of the ground by the contract over a length of a drive, and how far the parties are with it. Positions in driven metres. [m]';
COMMENT ON COLUMN class_decision.proposed_by IS 'Who wrote it last while it was proposed.';
COMMENT ON COLUMN class_decision.agreed_by IS 'Who agreed: another than proposed_by.';
COMMENT ON COLUMN class_decision.disputed_by IS 'Who disputed it last; stays when it is agreed afterwards.';

CREATE TRIGGER project_of_drive BEFORE INSERT ON class_decision
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON class_decision FOR EACH ROW EXECUTE FUNCTION interval_within_drive();

-- The life of a decision. Who and when is said here, whatever the statement says; what was proposed is what is agreed.
CREATE FUNCTION class_decision_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  why text := nullif(btrim(coalesce(current_setting('drivebook.reason', true), '')), '');
  rewritten boolean;
  renamed boolean;
BEGIN
  IF TG_OP = 'DELETE' THEN
    IF OLD.state <> 'proposed' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'class_decision_stands', TABLE = 'class_decision',
        MESSAGE = format('class decision %s is %s: it cannot be removed', OLD.number, OLD.state);
    END IF;
    RETURN OLD;
  END IF;
  IF TG_OP = 'INSERT' THEN
    IF NEW.state <> 'proposed' THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'class_decision_stands', TABLE = 'class_decision',
        MESSAGE = 'a class decision is proposed before it is agreed or disputed';
    END IF;
    NEW.proposed_by := actor;
    NEW.proposed_at := clock_timestamp();
    NEW.agreed_by := NULL; NEW.agreed_at := NULL;
    NEW.disputed_by := NULL; NEW.disputed_at := NULL; NEW.dispute_reason := NULL;
    NEW.withdrawn_by := NULL; NEW.withdrawn_at := NULL; NEW.withdrawal_reason := NULL;
    RETURN NEW;
  END IF;
  rewritten := (NEW.id, NEW.project_id, NEW.drive_id, NEW.number, NEW.from_m, NEW.to_m, NEW.ground_class_id, NEW.remark)
    IS DISTINCT FROM (OLD.id, OLD.project_id, OLD.drive_id, OLD.number, OLD.from_m, OLD.to_m, OLD.ground_class_id, OLD.remark);
  renamed := (NEW.contractor_representative, NEW.employer_representative) IS DISTINCT FROM (OLD.contractor_representative, OLD.employer_representative);
  NEW.proposed_by := OLD.proposed_by; NEW.proposed_at := OLD.proposed_at;
  NEW.agreed_by := OLD.agreed_by; NEW.agreed_at := OLD.agreed_at;
  NEW.disputed_by := OLD.disputed_by; NEW.disputed_at := OLD.disputed_at; NEW.dispute_reason := OLD.dispute_reason;
  NEW.withdrawn_by := OLD.withdrawn_by; NEW.withdrawn_at := OLD.withdrawn_at; NEW.withdrawal_reason := OLD.withdrawal_reason;
  IF OLD.state = 'proposed' AND NEW.state = 'proposed' THEN
    IF rewritten OR renamed THEN
      NEW.proposed_by := actor;
      NEW.proposed_at := clock_timestamp();
    END IF;
    RETURN NEW;
  END IF;
  IF OLD.state = NEW.state AND NOT rewritten AND NOT renamed THEN RETURN NEW; END IF;
  IF rewritten OR OLD.state = NEW.state OR (NEW.state = 'withdrawn' AND renamed)
      OR (OLD.state, NEW.state) NOT IN (('proposed', 'agreed'), ('proposed', 'disputed'), ('disputed', 'agreed'), ('disputed', 'withdrawn'), ('agreed', 'withdrawn')) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'class_decision_stands', TABLE = 'class_decision',
      MESSAGE = CASE OLD.state
        WHEN 'proposed' THEN format('class decision %s cannot become %s as it is written', OLD.number, NEW.state)
        WHEN 'withdrawn' THEN format('class decision %s is withdrawn: make another', OLD.number)
        ELSE format('class decision %s is %s: withdraw it before you replace it', OLD.number, OLD.state) END;
  END IF;
  IF actor = OLD.proposed_by AND (OLD.state, NEW.state) <> ('disputed', 'withdrawn') THEN
    RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = 'class_decision',
      MESSAGE = format('class decision %s was proposed by %s: another person %s it', OLD.number, actor,
        CASE NEW.state WHEN 'agreed' THEN 'agrees to' WHEN 'disputed' THEN 'disputes' ELSE 'withdraws' END);
  END IF;
  IF NEW.state <> 'agreed' AND why IS NULL THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'class_decision_reason', TABLE = 'class_decision',
      MESSAGE = format('class decision %s is %s with a reason only', OLD.number, NEW.state);
  END IF;
  IF NEW.state = 'agreed' THEN
    NEW.agreed_by := actor; NEW.agreed_at := clock_timestamp();
  ELSIF NEW.state = 'disputed' THEN
    NEW.disputed_by := actor; NEW.disputed_at := clock_timestamp(); NEW.dispute_reason := why;
  ELSE
    NEW.withdrawn_by := actor; NEW.withdrawn_at := clock_timestamp(); NEW.withdrawal_reason := why;
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER class_decision_life BEFORE INSERT OR UPDATE OR DELETE ON class_decision FOR EACH ROW EXECUTE FUNCTION class_decision_life();

-- A drive with class decisions keeps its start and direction, by which their places are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_classes() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(to_m) FROM class_decision WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has class decisions';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_class', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, which a class decision reaches', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_classes AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_classes();

SELECT hold_to_scope('class_decision'), history.keep('class_decision');
