-- Lines that divide the same records are rounded together, so that they sum to their rounded whole; a certified line keeps with which
-- ones. Those that were certified before stand as they were rounded, each by itself, and the next valuation brings the difference.
ALTER TABLE "certified_line" ADD COLUMN "rounded_with" TEXT[];
COMMENT ON COLUMN certified_line.rounded_with IS 'References of the lines, itself among them, that were rounded together with it; null: rounded by itself.';

ALTER TABLE history.certified_line ADD COLUMN rounded_with TEXT[];
SELECT history.keep('certified_line');

-- A line is what its sources say, and goes on from the line before it. Rounded by itself it is the nearest step of its item's decimals;
-- rounded with others it is less than a step of the coarsest of them away, and together they are the nearest step to their sum.
CREATE OR REPLACE FUNCTION hold_valuation_sums() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  wrong record;
BEGIN
  SELECT line.reference INTO wrong
  FROM (
    SELECT l.*, i.reference, i.decimals, coalesce(i.rate, 0) AS rate, c.minor_units, grid.steps_per_base,
      count(*) OVER together AS together_count, sum(l.exact_quantity * grid.steps_per_base) OVER together AS together_exact,
      sum(l.to_date_quantity * l.base_per_unit * grid.steps_per_base) OVER together AS together_to_date
    FROM certified_line l
    JOIN pay_item i ON i.id = l.pay_item_id
    JOIN bill c ON c.id = i.bill_id
    CROSS JOIN LATERAL (
      SELECT min(power(10::numeric, o.decimals) / k.base_per_unit) AS steps_per_base
      FROM certified_line k JOIN pay_item o ON o.id = k.pay_item_id
      WHERE k.valuation_id = l.valuation_id AND o.bill_id = i.bill_id AND o.reference = ANY (l.rounded_with)
    ) grid
    WHERE l.valuation_id = NEW.id
    WINDOW together AS (PARTITION BY i.bill_id, l.rounded_with)
  ) line
  CROSS JOIN LATERAL (
    SELECT coalesce(sum(s.quantity), 0) AS exact, count(*) FILTER (WHERE s.valuation_id = line.valuation_id) AS n
    FROM certified_source s WHERE s.drive_id = line.drive_id AND s.pay_item_id = line.pay_item_id
  ) s
  CROSS JOIN LATERAL (
    SELECT coalesce(sum(b.quantity), 0) AS quantity, coalesce(sum(b.amount), 0) AS amount
    FROM certified_line b WHERE b.pay_item_id = line.pay_item_id AND b.valuation_id <> line.valuation_id
  ) b
  WHERE line.exact_quantity <> s.exact OR line.source_count <> s.n
    OR CASE WHEN line.rounded_with IS NULL THEN line.to_date_quantity <> round(line.exact_quantity / line.base_per_unit, line.decimals)
      ELSE line.reference <> ALL (line.rounded_with) OR line.together_count <> cardinality(line.rounded_with)
        OR abs(line.to_date_quantity * line.base_per_unit - line.exact_quantity) * line.steps_per_base >= 1
        OR line.together_to_date <> round(line.together_exact) END
    OR line.to_date_amount <> round(line.to_date_quantity * line.rate, line.minor_units) OR line.previous_quantity <> b.quantity
    OR line.previous_amount <> b.amount
  LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'valuation_sums', TABLE = 'certified_line',
      MESSAGE = format('the line of %s is not what its sources say', wrong.reference);
  END IF;
  UPDATE bill SET locked_at = clock_timestamp() WHERE drive_id = NEW.drive_id AND valid_from <= NEW.cut_off AND locked_at IS NULL;
  RETURN NULL;
END $$;

-- Their answers have more columns now; the views are put in after the migrations.
DROP FUNCTION IF EXISTS report.measurable_of(int, date, text), report.measured_part_of(int, date), report.draft_line_of(int, date) CASCADE;
