-- compatible: older builds keep working
-- Hold points: places of a drive that the face does not pass before a person of the named side has released them. What happened is recorded all the same.

CREATE TABLE "hold_point" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "code" TEXT NOT NULL,
    "at_m" DECIMAL(9,3) NOT NULL,
    "reason" TEXT NOT NULL,
    "side" "party_side" NOT NULL,
    "role" TEXT,
    "set_by" TEXT NOT NULL DEFAULT acting_subject(),
    "set_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "hold_point_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "hold_point_release" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "hold_point_id" INTEGER NOT NULL,
    "released_at" TIMESTAMPTZ(3) NOT NULL,
    "evidence" TEXT NOT NULL,
    "released_by" TEXT NOT NULL DEFAULT acting_subject(),
    "recorded_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "released_for" JSONB,
    "withdrawn_by" TEXT,
    "withdrawn_at" TIMESTAMPTZ(3),
    "withdrawn_for" JSONB,
    "withdrawal_reason" TEXT,

    CONSTRAINT "hold_point_release_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "hold_point_drive_id_code_key" ON "hold_point"("drive_id", "code");
CREATE UNIQUE INDEX "hold_point_id_drive_id_project_id_key" ON "hold_point"("id", "drive_id", "project_id");
CREATE INDEX "hold_point_release_drive_id_idx" ON "hold_point_release"("drive_id");
CREATE INDEX "hold_point_release_hold_point_id_idx" ON "hold_point_release"("hold_point_id");
ALTER TABLE "hold_point" ADD CONSTRAINT "hold_point_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "hold_point_release" ADD CONSTRAINT "hold_point_release_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "hold_point_release" ADD CONSTRAINT "hold_point_release_hold_point_id_drive_id_project_id_fkey" FOREIGN KEY ("hold_point_id", "drive_id", "project_id") REFERENCES "hold_point"("id", "drive_id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- one release stands at a time
CREATE UNIQUE INDEX hold_point_released_once ON hold_point_release (project_id, hold_point_id) WHERE withdrawn_at IS NULL;

ALTER TABLE hold_point
  ADD CONSTRAINT hold_point_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT hold_point_place CHECK (at_m >= 0),
  ADD CONSTRAINT hold_point_reason CHECK (reason ~ '\S'),
  ADD CONSTRAINT hold_point_role CHECK (role ~ '\S');
ALTER TABLE hold_point_release
  ADD CONSTRAINT hold_point_release_evidence CHECK (evidence ~ '\S'),
  ADD CONSTRAINT hold_point_release_past CHECK (released_at <= recorded_at),
  ADD CONSTRAINT hold_point_release_withdrawn CHECK (
    (withdrawn_by IS NULL) = (withdrawn_at IS NULL) AND (withdrawn_by IS NULL) = (withdrawal_reason IS NULL)
    AND (withdrawn_for IS NULL OR withdrawn_by IS NOT NULL) AND withdrawal_reason ~ '\S');

COMMENT ON TABLE hold_point IS 'A place of a drive that the face does not pass before it is released. Positions in driven metres. [m]';
COMMENT ON COLUMN hold_point.side IS 'The side of the contract whose persons release it, change it and remove it.';
COMMENT ON COLUMN hold_point.role IS 'Who of that side, in words for people.';
COMMENT ON COLUMN hold_point.set_by IS 'Who wrote it last.';
COMMENT ON TABLE hold_point_release IS 'A release of a hold point; one that was wrong is withdrawn and stays.';
COMMENT ON COLUMN hold_point_release.released_at IS 'When it was released, as its writer states; not after recorded_at.';
COMMENT ON COLUMN hold_point_release.released_for IS 'For which party, as JSON: code, name, kind, side at that moment; null: not recorded.';

CREATE FUNCTION hold_point_within_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NEW.at_m > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, NEW.at_m), chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON hold_point FOR EACH ROW EXECUTE FUNCTION hold_point_within_drive();

-- The party that the actor acts for, if the side may be acted for by the actor. Where the project records a party of the side, the actor acts for one of it; where it records none,
-- nobody who acts for the other side does. That two may sign for one party, or that none is recorded on the other side, changes nothing here.
CREATE FUNCTION hold_releasing_side(p_project_id int, p_code text, p_side party_side, p_does text) RETURNS jsonb
LANGUAGE plpgsql SET search_path = public, pg_temp AS $$
DECLARE
  actor text := acting_subject();
  mine jsonb := party_of(p_project_id, actor);
BEGIN
  IF mine->>'side' = p_side::text OR (mine IS NULL AND NOT EXISTS (SELECT FROM party WHERE project_id = p_project_id AND side = p_side)) THEN
    RETURN mine;
  END IF;
  RAISE EXCEPTION USING ERRCODE = 'DB003', CONSTRAINT = 'releasing_side', TABLE = 'hold_point',
    MESSAGE = format('hold point %s is released by the side of the %s, and %s: a person of that side %s it', p_code, p_side,
      CASE WHEN mine IS NULL THEN format('%s acts for no party of the project', actor) ELSE format('%s acts for %s', actor, mine->>'code') END, p_does);
END $$;

REVOKE EXECUTE ON FUNCTION hold_releasing_side FROM PUBLIC;

-- A hold point is set by whoever may; what is set is changed and removed as it is released, or the rule could be walked around.
CREATE FUNCTION hold_point_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  does text := CASE TG_OP WHEN 'DELETE' THEN 'removes' ELSE 'changes' END;
BEGIN
  IF TG_OP = 'UPDATE' THEN
    NEW.set_by := OLD.set_by;
    NEW.set_at := OLD.set_at;
    IF NEW IS NOT DISTINCT FROM OLD THEN RETURN NEW; END IF;
    -- where there is no such drive, policies and foreign keys refuse it
    IF NOT EXISTS (SELECT FROM drive WHERE id = NEW.drive_id AND project_id = NEW.project_id) THEN RETURN NEW; END IF;
    IF (NEW.id, NEW.drive_id, NEW.code) IS DISTINCT FROM (OLD.id, OLD.drive_id, OLD.code) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'hold_point_stands', TABLE = 'hold_point',
        MESSAGE = format('hold point %s keeps its drive and its code', OLD.code);
    END IF;
  END IF;
  IF TG_OP <> 'INSERT' THEN
    PERFORM hold_releasing_side(OLD.project_id, OLD.code, OLD.side, does);
    IF TG_OP = 'DELETE' AND EXISTS (SELECT FROM hold_point_release WHERE hold_point_id = OLD.id) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'hold_point_stands', TABLE = 'hold_point',
        MESSAGE = format('hold point %s has been released: it cannot be removed', OLD.code);
    END IF;
    IF EXISTS (SELECT FROM hold_point_release WHERE hold_point_id = OLD.id AND withdrawn_at IS NULL) THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'hold_point_stands', TABLE = 'hold_point',
        MESSAGE = format('hold point %s is released: withdraw the release before you change it', OLD.code);
    END IF;
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
  NEW.set_by := acting_subject();
  NEW.set_at := clock_timestamp();
  RETURN NEW;
END $$;

CREATE TRIGGER hold_point_life BEFORE INSERT OR UPDATE OR DELETE ON hold_point FOR EACH ROW EXECUTE FUNCTION hold_point_life();

-- Who and when is said here, whatever the statement says. A release is withdrawn, never changed or removed.
CREATE FUNCTION hold_point_release_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  why text := nullif(btrim(coalesce(current_setting('drivebook.reason', true), '')), '');
  point hold_point := (SELECT h FROM hold_point h WHERE h.id = coalesce(NEW.hold_point_id, OLD.hold_point_id));
BEGIN
  IF TG_OP = 'INSERT' THEN
    NEW.released_by := acting_subject();
    NEW.recorded_at := clock_timestamp();
    NEW.released_at := coalesce(NEW.released_at, NEW.recorded_at);
    NEW.withdrawn_by := NULL; NEW.withdrawn_at := NULL; NEW.withdrawn_for := NULL; NEW.withdrawal_reason := NULL;
    IF point IS NULL THEN RETURN NEW; END IF; -- its foreign key refuses it
    NEW.released_for := hold_releasing_side(NEW.project_id, point.code, point.side, 'releases');
    RETURN NEW;
  END IF;
  IF TG_OP = 'UPDATE' AND (NEW IS NOT DISTINCT FROM OLD
      OR NOT EXISTS (SELECT FROM hold_point h JOIN drive d ON (d.id, d.project_id) = (h.drive_id, h.project_id)
        WHERE (h.id, h.drive_id, h.project_id) = (NEW.hold_point_id, NEW.drive_id, NEW.project_id))) THEN
    RETURN NEW; -- nothing changes, or policies and foreign keys refuse it
  END IF;
  IF TG_OP = 'DELETE' OR OLD.withdrawn_at IS NOT NULL OR NEW.withdrawn_at IS NULL
    OR (NEW.id, NEW.project_id, NEW.drive_id, NEW.hold_point_id, NEW.released_at, NEW.evidence, NEW.released_by, NEW.recorded_at, NEW.released_for)
      IS DISTINCT FROM (OLD.id, OLD.project_id, OLD.drive_id, OLD.hold_point_id, OLD.released_at, OLD.evidence, OLD.released_by, OLD.recorded_at, OLD.released_for) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'hold_point_release_stands', TABLE = 'hold_point_release',
      MESSAGE = format('a release of hold point %s is withdrawn, once; it is neither changed nor removed', point.code);
  END IF;
  IF why IS NULL THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'hold_point_withdrawal_reason', TABLE = 'hold_point_release',
      MESSAGE = format('the release of hold point %s is withdrawn with a reason only', point.code);
  END IF;
  NEW.withdrawn_for := hold_releasing_side(NEW.project_id, point.code, point.side, 'withdraws the release of');
  NEW.withdrawn_by := acting_subject();
  NEW.withdrawn_at := clock_timestamp();
  NEW.withdrawal_reason := why;
  RETURN NEW;
END $$;

CREATE TRIGGER hold_point_release_life BEFORE INSERT OR UPDATE OR DELETE ON hold_point_release FOR EACH ROW EXECUTE FUNCTION hold_point_release_life();

-- A drive with hold points keeps its start and direction, by which their places are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_hold_points() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(at_m) FROM hold_point WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has hold points';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_hold_point', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, where a hold point stands', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_hold_points AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_hold_points();

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['hold_point', 'hold_point_release']) t;
