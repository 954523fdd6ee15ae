-- The bill of a contract for a drive, by dated versions, and its items. Money and quantities are numeric, exact.

CREATE TYPE "pay_item_kind" AS ENUM ('quantity', 'lump', 'time');

CREATE TABLE "bill" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "version" TEXT NOT NULL,
    "valid_from" DATE NOT NULL,
    "currency" CHAR(3) NOT NULL,
    "minor_units" SMALLINT NOT NULL,
    "remark" TEXT,
    "locked_at" TIMESTAMPTZ(3),

    CONSTRAINT "bill_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "pay_item" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "bill_id" INTEGER NOT NULL,
    "reference" TEXT NOT NULL,
    "group_code" TEXT,
    "group_title" TEXT,
    "position" INTEGER NOT NULL,
    "description" TEXT NOT NULL,
    "unit" TEXT NOT NULL,
    "kind" "pay_item_kind" NOT NULL DEFAULT 'quantity',
    "decimals" SMALLINT NOT NULL,
    "quantity" DECIMAL(18,6) NOT NULL DEFAULT 0,
    "rate" DECIMAL(18,6) NOT NULL,

    CONSTRAINT "pay_item_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "bill_drive_id_version_key" ON "bill"("drive_id", "version");
CREATE UNIQUE INDEX "bill_drive_id_valid_from_key" ON "bill"("drive_id", "valid_from");
CREATE UNIQUE INDEX "bill_id_project_id_key" ON "bill"("id", "project_id");
CREATE UNIQUE INDEX "bill_id_drive_id_project_id_key" ON "bill"("id", "drive_id", "project_id");
CREATE INDEX "pay_item_drive_id_reference_idx" ON "pay_item"("drive_id", "reference");
CREATE UNIQUE INDEX "pay_item_bill_id_reference_key" ON "pay_item"("bill_id", "reference");
CREATE UNIQUE INDEX "pay_item_id_project_id_key" ON "pay_item"("id", "project_id");

ALTER TABLE "bill" ADD CONSTRAINT "bill_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "pay_item" ADD CONSTRAINT "pay_item_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "pay_item_bill_id_drive_id_project_id_fkey" FOREIGN KEY ("bill_id", "drive_id", "project_id") REFERENCES "bill"("id", "drive_id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE bill
  ADD CONSTRAINT bill_version CHECK (version ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT bill_valid_from CHECK (valid_from >= '1900-01-01' AND valid_from < '2200-01-01'),
  ADD CONSTRAINT bill_currency CHECK (currency ~ '^[A-Z]{3}$'),
  ADD CONSTRAINT bill_minor_units CHECK (minor_units BETWEEN 0 AND 4);

ALTER TABLE pay_item
  ADD CONSTRAINT pay_item_reference CHECK (reference ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT pay_item_group CHECK (group_code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$' AND (group_title IS NULL OR group_code IS NOT NULL)),
  ADD CONSTRAINT pay_item_position CHECK (position > 0),
  ADD CONSTRAINT pay_item_words CHECK (description ~ '\S' AND unit ~ '\S'),
  ADD CONSTRAINT pay_item_decimals CHECK (decimals BETWEEN 0 AND 6),
  -- NaN is beyond these bounds too
  ADD CONSTRAINT pay_item_quantity CHECK (quantity BETWEEN 0 AND 999999999999.999999 AND quantity = round(quantity, decimals)),
  ADD CONSTRAINT pay_item_rate CHECK (rate BETWEEN 0 AND 999999999999.999999);

COMMENT ON TABLE bill IS 'A version of the bill of a drive''s contract. On a date the version counts whose valid_from is the last on or before it.';
COMMENT ON COLUMN bill.currency IS 'ISO 4217.';
COMMENT ON COLUMN bill.minor_units IS 'Decimals of an amount in this currency (ISO 4217), as known when the version was written.';
COMMENT ON COLUMN bill.locked_at IS 'Since when it is used by what is certified; it and its items then stay as they are. Null: not used.';
COMMENT ON TABLE pay_item IS 'What is measured and paid under a version of the bill. A later version keeps an item by its reference.';
COMMENT ON COLUMN pay_item.position IS 'Its place in the bill, rising; reading order.';
COMMENT ON COLUMN pay_item.unit IS 'Unit of quantity, as the contract writes it; rate is per this unit.';
COMMENT ON COLUMN pay_item.kind IS 'quantity: by what was measured; lump: a sum, by its progress; time: by the time it lasts.';
COMMENT ON COLUMN pay_item.decimals IS 'To how many decimals a measured quantity is rounded; the bill''s own has no more.';
COMMENT ON COLUMN pay_item.quantity IS 'Quantity of the bill; 0 where only the rate is agreed. [unit]';
COMMENT ON COLUMN pay_item.rate IS 'Price of one unit, to six decimals. [currency/unit]';

CREATE TRIGGER project_of_drive BEFORE INSERT ON bill FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER project_of_drive BEFORE INSERT ON pay_item FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

-- A locked version stands, and it is locked once. After the row: row-level security and foreign keys speak first.
CREATE FUNCTION bill_stands() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF OLD.locked_at IS NOT NULL AND (TG_OP = 'DELETE' OR NEW IS DISTINCT FROM OLD) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'bill_locked', TABLE = 'bill',
      MESSAGE = format('bill %s is locked, as certified valuations use it: make another version', OLD.version);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER bill_stands AFTER UPDATE OR DELETE ON bill FOR EACH ROW EXECUTE FUNCTION bill_stands();

-- The bill is locked against who would lock it meanwhile. An item that goes with its bill finds none.
CREATE FUNCTION pay_item_stands() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  locked text;
  other pay_item;
BEGIN
  IF TG_OP = 'UPDATE' AND NEW IS NOT DISTINCT FROM OLD THEN RETURN NULL; END IF;
  PERFORM FROM bill WHERE id IN (OLD.bill_id, NEW.bill_id) ORDER BY id FOR SHARE;
  SELECT version INTO locked FROM bill WHERE id IN (OLD.bill_id, NEW.bill_id) AND locked_at IS NOT NULL LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'bill_locked', TABLE = 'pay_item',
      MESSAGE = format('item %s belongs to bill %s, which is locked, as certified valuations use it: make another version',
        coalesce(NEW.reference, OLD.reference), locked);
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN NULL; END IF;
  -- what is certified to date under one reference is counted in one unit
  SELECT i.* INTO other FROM pay_item i JOIN bill b ON b.id = i.bill_id
    WHERE i.drive_id = NEW.drive_id AND i.reference = NEW.reference AND i.id <> NEW.id AND b.locked_at IS NOT NULL AND i.unit <> NEW.unit LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'pay_item_unit_kept', TABLE = 'pay_item',
      MESSAGE = format('item %s is measured in %s by a locked version of the bill, not in %s: a later version keeps its unit, or names another item',
        NEW.reference, other.unit, NEW.unit);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER pay_item_stands AFTER INSERT OR UPDATE OR DELETE ON pay_item FOR EACH ROW EXECUTE FUNCTION pay_item_stands();

SELECT hold_to_scope('bill'), history.keep('bill'), hold_to_scope('pay_item'), history.keep('pay_item');
