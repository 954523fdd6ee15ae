-- compatible: older builds keep working
-- That a dispute does not change drive or project is held by row-level security and the foreign keys, which then also say so.

CREATE OR REPLACE FUNCTION quantity_dispute_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
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
  IF OLD.settled_at IS NOT NULL OR (NEW.id, NEW.number, NEW.reference, NEW.source_key, NEW.reason)
      IS DISTINCT FROM (OLD.id, OLD.number, OLD.reference, OLD.source_key, OLD.reason) THEN
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
