-- What pays is agreed or noted; what a proposed or disputed class would change is held. A certified line and its sources keep by what
-- their class ruled, and which decisions contested it. Certified ones stand as they were measured; the next valuation corrects them.

ALTER TABLE "certified_line" ADD COLUMN "basis" TEXT, ADD COLUMN "contested" JSONB;
ALTER TABLE "certified_source" ADD COLUMN "basis" TEXT, ADD COLUMN "contested" JSONB;

ALTER TABLE certified_line ADD CONSTRAINT certified_line_basis CHECK (basis IN ('agreed', 'noted', 'agreed and noted'));
ALTER TABLE certified_source ADD CONSTRAINT certified_source_basis CHECK (basis IN ('agreed', 'noted', 'agreed and noted'));

COMMENT ON COLUMN certified_line.basis IS 'By what the class of its records ruled: agreed, noted, or both; null: without a class, or certified before this was kept.';
COMMENT ON COLUMN certified_line.contested IS 'Class decisions over its records that were not agreed: number, state, groundClass.';
COMMENT ON COLUMN certified_source.basis IS 'By what its class ruled: agreed, noted, or both; null: without a class, or certified before this was kept.';
COMMENT ON COLUMN certified_source.contested IS 'Class decisions over it that were not agreed: number, state, groundClass.';

ALTER TABLE history.certified_line ADD COLUMN "basis" TEXT, ADD COLUMN "contested" JSONB;
SELECT history.keep('certified_line');

CREATE OR REPLACE VIEW as_of.certified_source WITH (security_invoker = true) AS
  SELECT s.* FROM public.certified_source s WHERE EXISTS (SELECT FROM as_of.valuation v WHERE v.id = s.valuation_id AND v.state = 'certified');

-- Their answers have other columns now; the views are put in after the migrations.
DROP FUNCTION IF EXISTS report.ruling_class_of(int), report.ground_cell_of(int), report.ground_strip(text, text), report.baseline_strip(text, text, text),
  report.measurable_of(int, date, text), report.measured_part_of(int, date), report.measured_of(int, date), report.draft_source_of(int, date),
  report.draft_line_of(int, date), report.valuation_by_interval(text, text, int, numeric), report.valuation_account_of(json) CASCADE;
