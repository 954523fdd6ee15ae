-- compatible: older builds keep working
-- Two sides wherever two are needed: the log that rules a place, and the settlement of a disputed quantity. And what a test of the rule as a hostile
-- client found: who made a key does not sign what it wrote, a side does not lose its last party, and why one party may sign stays with the signature.

-- The key, of those among the subjects, that somebody made; null: none.
CREATE FUNCTION key_made_by(p_project_id int, p_subjects text[], p_maker text) RETURNS text LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT 'key:' || name FROM api_key WHERE (project_id = p_project_id OR project_id IS NULL) AND created_by = p_maker AND 'key:' || name = ANY (p_subjects) LIMIT 1
$$;

CREATE FUNCTION hold_other_than_maker(p_project_id int, p_table text, p_what text, p_subjects text[], p_does text) RETURNS void
LANGUAGE plpgsql SET search_path = public, pg_temp AS $$
DECLARE
  key text := CASE WHEN 'key:' = ANY (SELECT left(s, 4) FROM unnest(p_subjects) s) THEN key_made_by(p_project_id, p_subjects, acting_subject()) END;
BEGIN
  IF key IS NULL THEN RETURN; END IF;
  RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'second_person', TABLE = p_table,
    MESSAGE = format('%s was written by %s, a key that %s made: another person %s it', p_what, key, acting_subject(), p_does);
END $$;

CREATE OR REPLACE FUNCTION hold_two_sides(p_project_id int, p_table text, p_what text, p_first_by text, p_first_for jsonb, p_does text) RETURNS jsonb
LANGUAGE plpgsql SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  mine jsonb := party_of(p_project_id, actor);
  first_for jsonb := coalesce(p_first_for, party_of(p_project_id, p_first_by));
  one_party text;
BEGIN
  PERFORM hold_other_than_maker(p_project_id, p_table, p_what, ARRAY[p_first_by], p_does);
  IF NOT takes_two_sides(p_project_id) THEN
    SELECT signatures_by_one_party INTO one_party FROM project WHERE id = p_project_id;
    -- why it was enough stays with the signature, whatever the project says later
    RETURN CASE WHEN one_party IS NOT NULL AND first_for->>'side' = mine->>'side' THEN mine || jsonb_build_object('oneParty', one_party) ELSE mine END;
  END IF;
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

REVOKE EXECUTE ON FUNCTION key_made_by, hold_other_than_maker FROM PUBLIC;

-- Of all who wrote the shift, not only the last.
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
  IF NEW.state = 'countersigned' OR OLD.state = 'countersigned' THEN
    -- the document is whole by whoever wrote it last
    does := CASE NEW.state WHEN 'countersigned' THEN 'countersigns' ELSE 'reopens' END;
    PERFORM hold_other_than_maker(NEW.project_id, 'shift', shift_words(OLD), OLD.posted_by, does);
    NEW.countersigned_for := hold_two_sides(NEW.project_id, 'shift', shift_words(OLD), OLD.posted_by[cardinality(OLD.posted_by)], OLD.posted_for, does);
    IF NEW.state <> 'countersigned' THEN NEW.countersigned_for := NULL; END IF;
  ELSE
    NEW.posted_for := party_of(NEW.project_id, acting_subject());
  END IF;
  RETURN NEW;
END $$;

-- ---------------------------------------------------------------------------------------------------------------
-- The rule does not end with the last party of a side: that would let one side sign, without a reason.
-- ---------------------------------------------------------------------------------------------------------------

CREATE FUNCTION both_sides_stay() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  PERFORM FROM project WHERE id = OLD.project_id FOR NO KEY UPDATE; -- one after the other
  IF EXISTS (SELECT FROM party WHERE project_id = OLD.project_id AND id <> OLD.id AND side <> OLD.side)
      AND NOT EXISTS (SELECT FROM party WHERE project_id = OLD.project_id AND side = OLD.side)
      AND EXISTS (SELECT FROM project WHERE id = OLD.project_id AND signatures_by_one_party IS NULL) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'both_sides_stay', TABLE = 'party',
      MESSAGE = format('party %s is the last on the side of the %s, and what takes two is signed by both sides: name another party of that side first, or give the project a reason in signaturesByOneParty',
        OLD.code, OLD.side);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER both_sides_stay AFTER UPDATE OR DELETE ON party FOR EACH ROW EXECUTE FUNCTION both_sides_stay();

-- ---------------------------------------------------------------------------------------------------------------
-- Which log rules a place
-- ---------------------------------------------------------------------------------------------------------------

ALTER TABLE "ground_log_sheet" ADD COLUMN "ruling_proposed_for" JSONB, ADD COLUMN "ruling_agreed_for" JSONB;
ALTER TABLE history.ground_log_sheet ADD COLUMN "ruling_proposed_for" JSONB, ADD COLUMN "ruling_agreed_for" JSONB;
COMMENT ON COLUMN ground_log_sheet.ruling_proposed_for IS 'For which party: code, name, kind, side at that moment; so ruling_agreed_for.';

CREATE FUNCTION ground_log_with_parties() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  what text := format('ground log %s as the ruling log', NEW.name);
BEGIN
  IF TG_OP = 'INSERT' THEN
    NEW.ruling_proposed_for := NULL; NEW.ruling_agreed_for := NULL;
    RETURN NEW;
  END IF;
  NEW.ruling_proposed_for := OLD.ruling_proposed_for; NEW.ruling_agreed_for := OLD.ruling_agreed_for;
  IF NEW.ruling_state IS NOT DISTINCT FROM OLD.ruling_state THEN RETURN NEW; END IF;
  IF NEW.ruling_state = 'proposed' THEN
    NEW.ruling_proposed_for := party_of(NEW.project_id, acting_subject());
  ELSIF NEW.ruling_state = 'agreed' THEN
    NEW.ruling_agreed_for := hold_two_sides(NEW.project_id, 'ground_log_sheet', what, OLD.ruling_proposed_by, OLD.ruling_proposed_for, 'agrees to');
  ELSE
    IF OLD.ruling_state = 'agreed' THEN
      PERFORM hold_two_sides(NEW.project_id, 'ground_log_sheet', what, OLD.ruling_proposed_by, OLD.ruling_proposed_for, 'withdraws');
    END IF;
    NEW.ruling_proposed_for := NULL; NEW.ruling_agreed_for := NULL;
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER with_parties BEFORE INSERT OR UPDATE ON ground_log_sheet FOR EACH ROW EXECUTE FUNCTION ground_log_with_parties();

-- ---------------------------------------------------------------------------------------------------------------
-- Disputes of quantities. Where two sides sign, a settlement is proposed by one and agreed by the other; what was settled stays.
-- ---------------------------------------------------------------------------------------------------------------

ALTER TABLE "quantity_dispute" ADD COLUMN "raised_for" JSONB, ADD COLUMN "settlement_by" TEXT, ADD COLUMN "settlement_at" TIMESTAMPTZ(3),
  ADD COLUMN "settlement_for" JSONB, ADD COLUMN "settled_for" JSONB;
ALTER TABLE history.quantity_dispute ADD COLUMN "raised_for" JSONB, ADD COLUMN "settlement_by" TEXT, ADD COLUMN "settlement_at" TIMESTAMPTZ(3),
  ADD COLUMN "settlement_for" JSONB, ADD COLUMN "settled_for" JSONB;
SELECT history.keep(t) FROM unnest(ARRAY['ground_log_sheet', 'quantity_dispute']) t;
UPDATE quantity_dispute SET settlement_by = settled_by, settlement_at = settled_at WHERE settled_at IS NOT NULL;
ALTER TABLE quantity_dispute
  DROP CONSTRAINT quantity_dispute_settled,
  ADD CONSTRAINT quantity_dispute_settled CHECK ((settled_at IS NULL) = (settled_by IS NULL) AND (settled_at IS NULL OR settlement IS NOT NULL)
    AND num_nulls(settlement, settlement_by, settlement_at) IN (0, 3));
COMMENT ON COLUMN quantity_dispute.settlement IS 'What is proposed, until settled_at: then what was agreed.';
COMMENT ON COLUMN quantity_dispute.settlement_for IS 'For which party it was proposed: code, name, kind, side at that moment; so the others.';

CREATE FUNCTION quantity_dispute_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  what text := format('the settlement of dispute %s', CASE TG_OP WHEN 'DELETE' THEN OLD.number ELSE NEW.number END);
  settles boolean;
BEGIN
  IF TG_OP = 'DELETE' THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'quantity_dispute_stays', TABLE = 'quantity_dispute',
      MESSAGE = format('dispute %s stays: it can be settled', OLD.number);
  END IF;
  IF TG_OP = 'INSERT' THEN
    NEW.raised_by := actor; NEW.raised_at := clock_timestamp();
    NEW.raised_for := hold_two_sides(NEW.project_id, 'quantity_dispute', format('item %s of %s', NEW.reference, NEW.source_key), NULL, NULL, 'disputes');
    NEW.settlement := NULL; NEW.settlement_by := NULL; NEW.settlement_at := NULL; NEW.settlement_for := NULL;
    NEW.settled_by := NULL; NEW.settled_at := NULL; NEW.settled_for := NULL;
    RETURN NEW;
  END IF;
  IF OLD.settled_at IS NOT NULL OR (NEW.id, NEW.project_id, NEW.drive_id, NEW.number, NEW.reference, NEW.source_key, NEW.reason)
      IS DISTINCT FROM (OLD.id, OLD.project_id, OLD.drive_id, OLD.number, OLD.reference, OLD.source_key, OLD.reason) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'quantity_dispute_stays', TABLE = 'quantity_dispute',
      MESSAGE = format('dispute %s stays as it is: only an open one is settled', OLD.number);
  END IF;
  settles := NEW.settled_at IS NOT NULL;
  NEW.raised_by := OLD.raised_by; NEW.raised_at := OLD.raised_at; NEW.raised_for := OLD.raised_for;
  NEW.settlement_by := OLD.settlement_by; NEW.settlement_at := OLD.settlement_at; NEW.settlement_for := OLD.settlement_for;
  NEW.settled_by := NULL; NEW.settled_at := NULL; NEW.settled_for := NULL;
  IF NEW.settlement IS NULL THEN NEW.settlement := OLD.settlement; END IF;
  IF NOT settles THEN
    NEW.settlement := OLD.settlement;
    RETURN NEW;
  END IF;
  IF NEW.settlement IS DISTINCT FROM OLD.settlement OR NOT takes_two_sides(NEW.project_id) THEN
    NEW.settlement_by := actor; NEW.settlement_at := clock_timestamp();
    NEW.settlement_for := hold_two_sides(NEW.project_id, 'quantity_dispute', what, NULL, NULL, 'proposes');
    IF takes_two_sides(NEW.project_id) THEN RETURN NEW; END IF;
    NEW.settled_for := NEW.settlement_for;
  ELSE
    NEW.settled_for := hold_two_sides(NEW.project_id, 'quantity_dispute', what, OLD.settlement_by, OLD.settlement_for, 'agrees to');
  END IF;
  NEW.settled_by := actor; NEW.settled_at := clock_timestamp();
  RETURN NEW;
END $$;

CREATE TRIGGER quantity_dispute_life BEFORE INSERT OR UPDATE OR DELETE ON quantity_dispute FOR EACH ROW EXECUTE FUNCTION quantity_dispute_life();
