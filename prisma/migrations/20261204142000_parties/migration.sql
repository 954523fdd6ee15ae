-- The parties of a project, and for which of them a member or an API key acts. What takes two is signed for both sides of the contract.

CREATE TYPE "party_kind" AS ENUM ('contractor', 'client', 'supervisor', 'designer');
CREATE TYPE "party_side" AS ENUM ('contractor', 'client');

CREATE TABLE "party" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "kind" "party_kind" NOT NULL,
    "side" "party_side" NOT NULL,

    CONSTRAINT "party_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "party_member" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "subject" TEXT NOT NULL,
    "party_id" INTEGER NOT NULL,

    CONSTRAINT "party_member_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "party_project_id_code_key" ON "party"("project_id", "code");
CREATE UNIQUE INDEX "party_id_project_id_key" ON "party"("id", "project_id");
CREATE UNIQUE INDEX "party_member_project_id_subject_key" ON "party_member"("project_id", "subject");
CREATE INDEX "party_member_party_id_idx" ON "party_member"("party_id");
ALTER TABLE "party" ADD CONSTRAINT "party_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "party_member" ADD CONSTRAINT "party_member_party_id_project_id_fkey" FOREIGN KEY ("party_id", "project_id") REFERENCES "party"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE party
  ADD CONSTRAINT party_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT party_name CHECK (name ~ '\S'),
  ADD CONSTRAINT party_side CHECK (CASE kind WHEN 'contractor' THEN side = 'contractor' WHEN 'designer' THEN true ELSE side = 'client' END);

COMMENT ON TABLE party IS 'A party of a project: contractor, client, the supervisor who acts for the client, designer.';
COMMENT ON COLUMN party.side IS 'On which side of the contract it signs: client and supervisor are one; a designer stands on the side that the project says.';
COMMENT ON TABLE party_member IS 'For which party a subject acts: a member, or an API key (key:name).';

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['party', 'party_member']) t;

ALTER TABLE "project" ADD COLUMN "signatures_by_one_party" TEXT;
ALTER TABLE history.project ADD COLUMN "signatures_by_one_party" TEXT;
ALTER TABLE project ADD CONSTRAINT project_signatures_by_one_party CHECK (signatures_by_one_party ~ '\S');
COMMENT ON COLUMN project.signatures_by_one_party IS 'Why two persons of one party may sign what takes two, which every paper says then; null: they may not.';

ALTER TABLE "shift" ADD COLUMN "posted_for" JSONB, ADD COLUMN "countersigned_for" JSONB;
ALTER TABLE history.shift ADD COLUMN "posted_for" JSONB, ADD COLUMN "countersigned_for" JSONB;
ALTER TABLE "class_decision" ADD COLUMN "proposed_for" JSONB, ADD COLUMN "agreed_for" JSONB, ADD COLUMN "disputed_for" JSONB, ADD COLUMN "withdrawn_for" JSONB;
ALTER TABLE history.class_decision ADD COLUMN "proposed_for" JSONB, ADD COLUMN "agreed_for" JSONB, ADD COLUMN "disputed_for" JSONB, ADD COLUMN "withdrawn_for" JSONB;
ALTER TABLE "valuation" ADD COLUMN "prepared_for" JSONB, ADD COLUMN "agreed_for" JSONB, ADD COLUMN "certified_for" JSONB;
ALTER TABLE history.valuation ADD COLUMN "prepared_for" JSONB, ADD COLUMN "agreed_for" JSONB, ADD COLUMN "certified_for" JSONB;

COMMENT ON COLUMN shift.posted_for IS 'For which party it was last written: code, name, kind, side at that moment.';
COMMENT ON COLUMN shift.countersigned_for IS 'For which party it was countersigned: code, name, kind, side at that moment.';
COMMENT ON COLUMN class_decision.proposed_for IS 'For which party: code, name, kind, side at that moment; so the others.';
COMMENT ON COLUMN valuation.agreed_for IS 'For which party: code, name, kind, side at that moment; so the others.';

SELECT history.keep(t) FROM unnest(ARRAY['project', 'shift', 'class_decision', 'valuation']) t;

-- ---------------------------------------------------------------------------------------------------------------
-- Two sides. Triggers named with_parties fire after those of the life of a row, which have said who and when.
-- ---------------------------------------------------------------------------------------------------------------

-- The party that a subject acts for now; null: none.
CREATE FUNCTION party_of(p_project_id int, p_subject text) RETURNS jsonb LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT jsonb_build_object('code', p.code, 'name', p.name, 'kind', p.kind, 'side', p.side)
  FROM party_member m JOIN party p ON p.id = m.party_id WHERE m.project_id = p_project_id AND m.subject = p_subject
$$;

-- Two sides sign as soon as a project has a party on each, unless it says that one party may.
CREATE FUNCTION takes_two_sides(p_project_id int) RETURNS boolean LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT signatures_by_one_party IS NULL AND (SELECT count(DISTINCT side) FROM party WHERE project_id = p_project_id) = 2 FROM project WHERE id = p_project_id
$$;

-- Refuses a signature for no party, and a second one for the side of the first. p_first: who was first, for which party; p_what: the record; p_does: what the second does.
CREATE FUNCTION hold_two_sides(p_project_id int, p_table text, p_what text, p_first_by text, p_first_for jsonb, p_does text) RETURNS jsonb
LANGUAGE plpgsql SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  mine jsonb := party_of(p_project_id, actor);
  first_for jsonb := coalesce(p_first_for, party_of(p_project_id, p_first_by));
BEGIN
  IF NOT takes_two_sides(p_project_id) THEN RETURN mine; END IF;
  IF mine IS NULL THEN
    RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_party', TABLE = p_table,
      MESSAGE = format('%s acts for no party of the project: nobody %s %s without one', actor, p_does, p_what);
  END IF;
  IF p_first_by IS NULL THEN RETURN mine; END IF;
  IF first_for IS NULL THEN
    RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_party', TABLE = p_table,
      MESSAGE = format('%s is by %s, who acts for no party of the project: nobody %s it until the party of %s is known', p_what, p_first_by, p_does, p_first_by);
  END IF;
  IF first_for->>'side' = mine->>'side' THEN
    RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_party', TABLE = p_table,
      MESSAGE = format('%s is by %s for %s, and %s acts for %s: the other side %s it', p_what, p_first_by, first_for->>'code', actor, mine->>'code', p_does);
  END IF;
  RETURN mine;
END $$;

REVOKE EXECUTE ON FUNCTION party_of, takes_two_sides, hold_two_sides FROM PUBLIC;

CREATE FUNCTION shift_with_parties() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
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
  IF NEW.state = 'countersigned' OR OLD.state = 'countersigned' THEN
    -- the document is whole by whoever wrote it last
    NEW.countersigned_for := hold_two_sides(NEW.project_id, 'shift', shift_words(OLD), OLD.posted_by[cardinality(OLD.posted_by)], OLD.posted_for,
      CASE NEW.state WHEN 'countersigned' THEN 'countersigns' ELSE 'reopens' END);
    IF NEW.state <> 'countersigned' THEN NEW.countersigned_for := NULL; END IF;
  ELSE
    NEW.posted_for := party_of(NEW.project_id, acting_subject());
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER with_parties BEFORE INSERT OR UPDATE ON shift FOR EACH ROW EXECUTE FUNCTION shift_with_parties();

CREATE FUNCTION class_decision_with_parties() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  mine jsonb;
BEGIN
  IF TG_OP = 'INSERT' THEN
    NEW.proposed_for := party_of(NEW.project_id, acting_subject());
    NEW.agreed_for := NULL; NEW.disputed_for := NULL; NEW.withdrawn_for := NULL;
    RETURN NEW;
  END IF;
  NEW.proposed_for := OLD.proposed_for; NEW.agreed_for := OLD.agreed_for; NEW.disputed_for := OLD.disputed_for; NEW.withdrawn_for := OLD.withdrawn_for;
  IF NEW.proposed_at IS DISTINCT FROM OLD.proposed_at THEN NEW.proposed_for := party_of(NEW.project_id, acting_subject()); END IF;
  IF NEW.state = OLD.state THEN RETURN NEW; END IF;
  IF (OLD.state, NEW.state) = ('disputed', 'withdrawn') THEN
    mine := hold_two_sides(NEW.project_id, 'class_decision', format('class decision %s', OLD.number), NULL, NULL, 'withdraws');
  ELSE
    mine := hold_two_sides(NEW.project_id, 'class_decision', format('class decision %s', OLD.number), OLD.proposed_by, OLD.proposed_for,
      CASE NEW.state WHEN 'agreed' THEN 'agrees to' WHEN 'disputed' THEN 'disputes' ELSE 'withdraws' END);
  END IF;
  CASE NEW.state WHEN 'agreed' THEN NEW.agreed_for := mine; WHEN 'disputed' THEN NEW.disputed_for := mine; ELSE NEW.withdrawn_for := mine; END CASE;
  RETURN NEW;
END $$;

CREATE TRIGGER with_parties BEFORE INSERT OR UPDATE ON class_decision FOR EACH ROW EXECUTE FUNCTION class_decision_with_parties();

CREATE FUNCTION valuation_with_parties() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  mine jsonb := party_of(NEW.project_id, acting_subject());
BEGIN
  IF TG_OP = 'INSERT' THEN
    NEW.prepared_for := mine; NEW.agreed_for := NULL; NEW.certified_for := NULL;
    RETURN NEW;
  END IF;
  NEW.prepared_for := OLD.prepared_for; NEW.agreed_for := OLD.agreed_for; NEW.certified_for := OLD.certified_for;
  IF NEW.prepared_at IS DISTINCT FROM OLD.prepared_at THEN NEW.prepared_for := mine; END IF;
  IF NEW.state = 'draft' THEN
    NEW.agreed_for := NULL;
  ELSIF NEW.state = 'agreed' THEN
    NEW.agreed_for := hold_two_sides(NEW.project_id, 'valuation', format('valuation %s', OLD.number), NULL, NULL, 'agrees to');
  ELSIF OLD.state <> 'certified' THEN
    NEW.certified_for := hold_two_sides(NEW.project_id, 'valuation', format('valuation %s', OLD.number), OLD.agreed_by, OLD.agreed_for, 'certifies');
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER with_parties BEFORE INSERT OR UPDATE ON valuation FOR EACH ROW EXECUTE FUNCTION valuation_with_parties();
