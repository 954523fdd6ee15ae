-- How a pay item is measured, and what has been measured, agreed and certified.

CREATE TYPE "measure_source" AS ENUM ('advance', 'support', 'probing', 'time', 'lump');
CREATE TYPE "measure_dimension" AS ENUM ('count', 'length', 'area', 'volume', 'mass', 'hours', 'percent');
CREATE TYPE "valuation_state" AS ENUM ('draft', 'agreed', 'certified');

CREATE TABLE "measurement_rule" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "pay_item_id" INTEGER NOT NULL,
    "source" "measure_source" NOT NULL,
    "dimension" "measure_dimension" NOT NULL,
    "items" TEXT[],
    "kinds" TEXT[],
    "zones" TEXT[],
    "classes" TEXT[],
    "lithologies" TEXT[],
    "activities" TEXT[],
    "time_classes" TEXT[],
    "parties" TEXT[],
    "pay_diameter_m" DECIMAL(6,3),
    "allowance_percent" DECIMAL(7,3),
    "min_per_m" DECIMAL(12,6),
    "max_per_m" DECIMAL(12,6),

    CONSTRAINT "measurement_rule_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "lump_progress" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "reference" TEXT NOT NULL,
    "day" DATE NOT NULL,
    "percent" DECIMAL(7,4) NOT NULL,

    CONSTRAINT "lump_progress_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "quantity_dispute" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "number" INTEGER NOT NULL,
    "reference" TEXT NOT NULL,
    "source_key" TEXT NOT NULL,
    "reason" TEXT NOT NULL,
    "raised_by" TEXT NOT NULL DEFAULT acting_subject(),
    "raised_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "settled_by" TEXT,
    "settled_at" TIMESTAMPTZ(3),
    "settlement" TEXT,

    CONSTRAINT "quantity_dispute_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "valuation" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "number" INTEGER NOT NULL,
    "cut_off" DATE NOT NULL,
    "state" "valuation_state" NOT NULL DEFAULT 'draft',
    "remark" TEXT,
    "prepared_by" TEXT NOT NULL DEFAULT acting_subject(),
    "prepared_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "agreed_by" TEXT,
    "agreed_at" TIMESTAMPTZ(3),
    "digest" CHAR(64),
    "certified_by" TEXT,
    "certified_at" TIMESTAMPTZ(3),
    "measured_change" BIGINT,

    CONSTRAINT "valuation_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "certified_line" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "valuation_id" INTEGER NOT NULL,
    "pay_item_id" INTEGER NOT NULL,
    "exact_quantity" DECIMAL(30,9) NOT NULL,
    "base_per_unit" INTEGER NOT NULL,
    "previous_quantity" DECIMAL(30,6) NOT NULL,
    "quantity" DECIMAL(30,6) NOT NULL,
    "to_date_quantity" DECIMAL(30,6) NOT NULL,
    "held_quantity" DECIMAL(30,6) NOT NULL,
    "previous_amount" DECIMAL(36,4) NOT NULL,
    "amount" DECIMAL(36,4) NOT NULL,
    "to_date_amount" DECIMAL(36,4) NOT NULL,
    "source_count" INTEGER NOT NULL,
    "digest" CHAR(64) NOT NULL,

    CONSTRAINT "certified_line_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "certified_source" (
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "valuation_id" INTEGER NOT NULL,
    "pay_item_id" INTEGER NOT NULL,
    "reference" TEXT NOT NULL,
    "source" "measure_source" NOT NULL,
    "source_key" TEXT NOT NULL,
    "class_code" TEXT NOT NULL,
    "sequence" INTEGER NOT NULL,
    "shift_date" DATE,
    "shift_name" TEXT,
    "from_m" DECIMAL(9,3),
    "to_m" DECIMAL(9,3),
    "previous_quantity" DECIMAL(30,9) NOT NULL,
    "quantity" DECIMAL(30,9) NOT NULL,
    "to_date_quantity" DECIMAL(30,9) NOT NULL,

    CONSTRAINT "certified_source_pkey" PRIMARY KEY ("drive_id", "reference", "source_key", "class_code", "pay_item_id", "sequence")
);

CREATE UNIQUE INDEX "measurement_rule_pay_item_id_project_id_key" ON "measurement_rule"("pay_item_id", "project_id");
CREATE UNIQUE INDEX "lump_progress_drive_id_reference_day_key" ON "lump_progress"("drive_id", "reference", "day");
CREATE UNIQUE INDEX "quantity_dispute_drive_id_number_key" ON "quantity_dispute"("drive_id", "number");
CREATE UNIQUE INDEX "valuation_id_project_id_key" ON "valuation"("id", "project_id");
CREATE UNIQUE INDEX "valuation_drive_id_number_key" ON "valuation"("drive_id", "number");
CREATE UNIQUE INDEX "certified_line_valuation_id_pay_item_id_project_id_key" ON "certified_line"("valuation_id", "pay_item_id", "project_id");
CREATE INDEX "certified_source_valuation_id_pay_item_id_idx" ON "certified_source"("valuation_id", "pay_item_id");
-- one dispute at a time, and one valuation
CREATE UNIQUE INDEX quantity_dispute_open ON quantity_dispute (drive_id, reference, source_key) WHERE settled_at IS NULL;
CREATE UNIQUE INDEX valuation_open ON valuation (drive_id, project_id) WHERE state <> 'certified';

ALTER TABLE "measurement_rule" ADD CONSTRAINT "measurement_rule_pay_item_id_project_id_fkey" FOREIGN KEY ("pay_item_id", "project_id") REFERENCES "pay_item"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE,
  ADD CONSTRAINT "measurement_rule_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "lump_progress" ADD CONSTRAINT "lump_progress_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "quantity_dispute" ADD CONSTRAINT "quantity_dispute_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "valuation" ADD CONSTRAINT "valuation_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "certified_line" ADD CONSTRAINT "certified_line_valuation_id_project_id_fkey" FOREIGN KEY ("valuation_id", "project_id") REFERENCES "valuation"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "certified_line_pay_item_id_project_id_fkey" FOREIGN KEY ("pay_item_id", "project_id") REFERENCES "pay_item"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "certified_line_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "certified_source" ADD CONSTRAINT "certified_source_valuation_id_pay_item_id_project_id_fkey" FOREIGN KEY ("valuation_id", "pay_item_id", "project_id") REFERENCES "certified_line"("valuation_id", "pay_item_id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "certified_source_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- An empty filter would catch nothing: it is left out or names something.
ALTER TABLE measurement_rule
  ADD CONSTRAINT measurement_rule_dimension CHECK (dimension::text = ANY (CASE source::text
    WHEN 'advance' THEN ARRAY['length', 'area', 'volume'] WHEN 'support' THEN ARRAY['count', 'length', 'area', 'volume', 'mass']
    WHEN 'probing' THEN ARRAY['count', 'length'] WHEN 'time' THEN ARRAY['hours'] ELSE ARRAY['percent'] END)),
  ADD CONSTRAINT measurement_rule_filters CHECK (
    0 <> ALL (ARRAY[cardinality(items), cardinality(kinds), cardinality(zones), cardinality(classes), cardinality(lithologies),
      cardinality(activities), cardinality(time_classes), cardinality(parties)])
    AND (source = 'support' OR (items IS NULL AND kinds IS NULL AND zones IS NULL))
    AND (source = 'time' OR (activities IS NULL AND time_classes IS NULL AND parties IS NULL))
    AND (source IN ('advance', 'support', 'probing') OR (classes IS NULL AND lithologies IS NULL AND min_per_m IS NULL AND max_per_m IS NULL))
    AND (source IN ('advance', 'support') OR pay_diameter_m IS NULL) AND (source <> 'lump' OR allowance_percent IS NULL)),
  ADD CONSTRAINT measurement_rule_values CHECK (
    pay_diameter_m > 0 AND allowance_percent > -100 AND min_per_m >= 0 AND max_per_m >= 0 AND min_per_m <= max_per_m);

ALTER TABLE lump_progress ADD CONSTRAINT lump_progress_percent CHECK (percent BETWEEN 0 AND 100);

ALTER TABLE quantity_dispute
  ADD CONSTRAINT quantity_dispute_number CHECK (number > 0),
  ADD CONSTRAINT quantity_dispute_settled CHECK ((settled_at IS NULL) = (settled_by IS NULL) AND (settled_at IS NULL) = (settlement IS NULL));

ALTER TABLE valuation
  ADD CONSTRAINT valuation_number CHECK (number > 0),
  ADD CONSTRAINT valuation_cut_off CHECK (cut_off >= '1900-01-01' AND cut_off < '2200-01-01'),
  ADD CONSTRAINT valuation_agreed CHECK ((state = 'draft') = (agreed_by IS NULL) AND (agreed_by IS NULL) = (agreed_at IS NULL) AND (agreed_by IS NULL) = (digest IS NULL)),
  ADD CONSTRAINT valuation_certified CHECK (
    (state = 'certified') = (certified_by IS NOT NULL) AND (certified_by IS NULL) = (certified_at IS NULL) AND (certified_by IS NULL) = (measured_change IS NULL)),
  ADD CONSTRAINT valuation_second_person CHECK (certified_by <> agreed_by);

ALTER TABLE certified_line
  ADD CONSTRAINT certified_line_sums CHECK (quantity = to_date_quantity - previous_quantity AND amount = to_date_amount - previous_amount),
  ADD CONSTRAINT certified_line_held CHECK (held_quantity >= 0);

ALTER TABLE certified_source
  ADD CONSTRAINT certified_source_chain CHECK (sequence > 0 AND quantity = to_date_quantity - previous_quantity AND quantity <> 0
    AND (sequence > 1 OR previous_quantity = 0));

DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['measurement_rule', 'lump_progress', 'quantity_dispute', 'valuation', 'certified_line', 'certified_source'] LOOP
    EXECUTE format('CREATE TRIGGER project_of_drive BEFORE INSERT ON %I FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive()', t);
    PERFORM hold_to_scope(t);
  END LOOP;
END $$;

-- ---------------------------------------------------------------------------------------------------------------
-- What a certified valuation stands on stands with it.
-- ---------------------------------------------------------------------------------------------------------------

CREATE FUNCTION hold_rule_of_locked_bill() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  found_bill bill;
BEGIN
  IF TG_OP = 'UPDATE' AND NEW IS NOT DISTINCT FROM OLD THEN RETURN NULL; END IF;
  SELECT b.* INTO found_bill FROM pay_item i JOIN bill b ON b.id = i.bill_id WHERE i.id IN (NEW.pay_item_id, OLD.pay_item_id) AND b.locked_at IS NOT NULL;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'bill_locked', TABLE = 'measurement_rule',
      MESSAGE = format('bill %s is certified by: how its items are measured stands', found_bill.version);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER bill_locked AFTER INSERT OR UPDATE OR DELETE ON measurement_rule FOR EACH ROW EXECUTE FUNCTION hold_rule_of_locked_bill();

-- A rule measures in the unit that its item had when it was written; its limits are per that unit.
CREATE FUNCTION hold_unit_of_measured() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF translate(NEW.unit, '²³', '23') <> translate(OLD.unit, '²³', '23')
    AND EXISTS (SELECT FROM measurement_rule WHERE pay_item_id = NEW.id AND dimension <> 'percent') THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'rule_keeps_unit', TABLE = 'pay_item',
      MESSAGE = format('item %s is measured in %s by its rule: take the rule away before its unit is %s', NEW.reference, OLD.unit, NEW.unit);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER rule_keeps_unit AFTER UPDATE OF unit ON pay_item FOR EACH ROW EXECUTE FUNCTION hold_unit_of_measured();

CREATE FUNCTION last_certified(p_drive_id int) RETURNS valuation LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT * FROM valuation WHERE drive_id = p_drive_id AND state = 'certified' ORDER BY number DESC LIMIT 1
$$;

REVOKE EXECUTE ON FUNCTION last_certified FROM PUBLIC;

-- A version that began before the last cut-off would measure anew what is certified. Versions of one drive share a currency.
CREATE FUNCTION bill_begins_after_certified() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  last valuation;
  other bill;
BEGIN
  PERFORM lock_drive(NEW.drive_id);
  last := last_certified(NEW.drive_id);
  IF NEW.valid_from <= last.cut_off THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'bill_after_certified', TABLE = 'bill',
      MESSAGE = format('a version from %s would measure anew what valuation %s certified until %s', NEW.valid_from, last.number, last.cut_off);
  END IF;
  SELECT * INTO other FROM bill WHERE drive_id = NEW.drive_id AND currency <> NEW.currency LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'bill_one_currency', TABLE = 'bill',
      MESSAGE = format('bill %s is in %s and bill %s in %s: what a valuation sums up has one currency', NEW.version, NEW.currency, other.version, other.currency);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER bill_after_certified AFTER INSERT OR UPDATE OF valid_from, currency ON bill FOR EACH ROW EXECUTE FUNCTION bill_begins_after_certified();

-- ---------------------------------------------------------------------------------------------------------------
-- The life of a valuation: draft, agreed by one, certified by another. Only the newest is not certified; a certified one stands.
-- ---------------------------------------------------------------------------------------------------------------

CREATE FUNCTION valuation_life() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
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
        WHERE drive_id = NEW.drive_id AND shift_date <= NEW.cut_off AND state <> 'countersigned';
      IF open.n > 0 THEN
        RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'valuation_open_shifts', TABLE = 'valuation',
          MESSAGE = format('%s shifts until %s are not countersigned, the first of %s', open.n, NEW.cut_off, open.first);
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

CREATE TRIGGER valuation_life BEFORE INSERT OR UPDATE OR DELETE ON valuation FOR EACH ROW EXECUTE FUNCTION valuation_life();

-- After the row: row-level security and foreign keys speak first.
CREATE FUNCTION valuation_keeps_its_place() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF (NEW.id, NEW.drive_id, NEW.project_id, NEW.number) IS DISTINCT FROM (OLD.id, OLD.drive_id, OLD.project_id, OLD.number) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_life', TABLE = 'valuation', MESSAGE = 'a valuation keeps its drive and number';
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER valuation_place AFTER UPDATE ON valuation FOR EACH ROW EXECUTE FUNCTION valuation_keeps_its_place();

-- Lines and their sources are written by the transaction that certifies, and never again.
CREATE FUNCTION hold_certified_rows() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  touched boolean;
BEGIN
  IF TG_OP = 'DELETE' THEN touched := EXISTS (SELECT FROM old_rows);
  ELSE touched := EXISTS (TABLE old_rows EXCEPT TABLE new_rows);
  END IF;
  IF touched THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_certified_stands', TABLE = TG_TABLE_NAME,
      MESSAGE = 'what is certified stands, and a correction goes into the next valuation';
  END IF;
  RETURN NULL;
END $$;

CREATE FUNCTION hold_written_once() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF EXISTS (SELECT FROM valuation v WHERE v.id IN (SELECT valuation_id FROM new_rows) AND v.state <> 'agreed') THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_certified_stands', TABLE = TG_TABLE_NAME,
      MESSAGE = 'lines are written when an agreed valuation is certified';
  END IF;
  RETURN NULL;
END $$;

CREATE FUNCTION hold_line_certified() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM valuation WHERE id = NEW.valuation_id AND drive_id = NEW.drive_id AND state = 'certified') THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_certified_stands', TABLE = 'certified_line',
      MESSAGE = 'lines are written when a valuation is certified';
  END IF;
  RETURN NULL;
END $$;

DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['certified_line', 'certified_source'] LOOP
    EXECUTE format('CREATE TRIGGER certified_update AFTER UPDATE ON %I REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION hold_certified_rows()', t);
    EXECUTE format('CREATE TRIGGER certified_delete AFTER DELETE ON %I REFERENCING OLD TABLE AS old_rows FOR EACH STATEMENT EXECUTE FUNCTION hold_certified_rows()', t);
    EXECUTE format('CREATE TRIGGER certified_insert AFTER INSERT ON %I REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION hold_written_once()', t);
    EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I FOR EACH STATEMENT EXECUTE FUNCTION history.no_truncate()', t);
  END LOOP;
  DROP TRIGGER no_truncate ON certified_line; -- history.keep makes its own
END $$;

CREATE CONSTRAINT TRIGGER line_certified AFTER INSERT ON certified_line DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION hold_line_certified();

-- Nothing is paid twice: what a valuation says of a record under an item goes on from what the ones before it said of it, and a record that
-- now counts under another version of the bill, as a probe hole with another date, is taken off the one before. A limit is each version's own.
CREATE FUNCTION hold_source_chain() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  broken record;
BEGIN
  SELECT n.reference, n.source_key INTO broken
  FROM new_rows n
  LEFT JOIN (
    SELECT s.drive_id, s.pay_item_id, s.source_key, s.class_code, max(s.sequence) AS sequence, sum(s.quantity) AS quantity FROM certified_source s
    WHERE s.drive_id IN (SELECT drive_id FROM new_rows) AND s.valuation_id NOT IN (SELECT valuation_id FROM new_rows)
    GROUP BY s.drive_id, s.pay_item_id, s.source_key, s.class_code
  ) p ON p.drive_id = n.drive_id AND p.pay_item_id = n.pay_item_id AND p.source_key = n.source_key AND p.class_code = n.class_code
  WHERE n.sequence <> coalesce(p.sequence, 0) + 1 OR n.previous_quantity <> coalesce(p.quantity, 0)
    OR (n.to_date_quantity <> 0 AND n.source_key <> 'limit' AND EXISTS (
      SELECT FROM certified_source s
      WHERE s.drive_id = n.drive_id AND s.reference = n.reference AND s.source_key = n.source_key AND s.pay_item_id <> n.pay_item_id
      GROUP BY s.pay_item_id, s.class_code HAVING sum(s.quantity) <> 0))
  LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'paid_once', TABLE = 'certified_source',
      MESSAGE = format('%s under %s does not go on from what is certified of it: it would be paid twice', broken.source_key, broken.reference);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER paid_once AFTER INSERT ON certified_source REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION hold_source_chain();

-- A line is what its sources say, and goes on from the line before it.
CREATE FUNCTION hold_valuation_sums() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  wrong record;
BEGIN
  SELECT i.reference INTO wrong
  FROM certified_line l
  JOIN pay_item i ON i.id = l.pay_item_id
  JOIN bill c ON c.id = i.bill_id
  CROSS JOIN LATERAL (
    SELECT coalesce(sum(s.quantity), 0) AS exact, count(*) FILTER (WHERE s.valuation_id = l.valuation_id) AS n
    FROM certified_source s WHERE s.drive_id = l.drive_id AND s.pay_item_id = l.pay_item_id
  ) s
  CROSS JOIN LATERAL (
    SELECT coalesce(sum(b.quantity), 0) AS quantity, coalesce(sum(b.amount), 0) AS amount
    FROM certified_line b WHERE b.pay_item_id = l.pay_item_id AND b.valuation_id <> l.valuation_id
  ) b
  WHERE l.valuation_id = NEW.id AND (l.exact_quantity <> s.exact OR l.source_count <> s.n
    OR l.to_date_quantity <> round(l.exact_quantity / l.base_per_unit, i.decimals)
    OR l.to_date_amount <> round(l.to_date_quantity * coalesce(i.rate, 0), c.minor_units) OR l.previous_quantity <> b.quantity OR l.previous_amount <> b.amount)
  LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'valuation_sums', TABLE = 'certified_line',
      MESSAGE = format('the line of %s is not what its sources say', wrong.reference);
  END IF;
  UPDATE bill SET locked_at = clock_timestamp() WHERE drive_id = NEW.drive_id AND valid_from <= NEW.cut_off AND locked_at IS NULL;
  RETURN NULL;
END $$;

CREATE CONSTRAINT TRIGGER valuation_sums AFTER UPDATE ON valuation DEFERRABLE INITIALLY DEFERRED FOR EACH ROW
  WHEN (NEW.state = 'certified') EXECUTE FUNCTION hold_valuation_sums();

-- The sources of a certified line are sealed by its digest, and the line by the history. They come with the certificate and never
-- change, so that as of a moment they are those of the valuations certified until then.
SELECT history.keep(t) FROM unnest(ARRAY['measurement_rule', 'lump_progress', 'quantity_dispute', 'valuation', 'certified_line']) t;

CREATE VIEW as_of.certified_source WITH (security_invoker = true) AS
  SELECT s.* FROM public.certified_source s WHERE EXISTS (SELECT FROM as_of.valuation v WHERE v.id = s.valuation_id AND v.state = 'certified');
GRANT SELECT ON as_of.certified_source TO drivebook_app;

COMMENT ON TABLE measurement_rule IS 'How a pay item is measured; an absent filter lets everything through.';
COMMENT ON TABLE lump_progress IS 'Share of a lump sum that is done by the end of a day. [%]';
COMMENT ON TABLE quantity_dispute IS 'A record whose quantity under an item is disputed: held apart until settled.';
COMMENT ON TABLE valuation IS 'A valuation: what is measured until its cut-off. A draft is computed, a certified one stands.';
COMMENT ON COLUMN valuation.digest IS 'SHA-256 of the lines that were agreed.';
COMMENT ON COLUMN valuation.measured_change IS 'Number of the change after which the record stood when it was measured.';
COMMENT ON TABLE certified_line IS 'A line of a certified valuation: what was measured under a pay item.';
COMMENT ON COLUMN certified_line.exact_quantity IS 'Measured to date, not rounded, in the base unit of what is measured: nr, m, m2, m3, kg, s.';
COMMENT ON COLUMN certified_line.base_per_unit IS 'Base units in a unit of the item: 3600 s in an h, 1000 kg in a t, else 1.';
COMMENT ON COLUMN certified_line.digest IS 'SHA-256 of the canonical rows of its sources.';
COMMENT ON TABLE certified_source IS 'What each record brought to a certified line; rows of one record under one item go on from each other.';
