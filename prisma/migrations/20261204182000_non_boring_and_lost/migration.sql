-- Whether the programme plans the time of a code; null: by what it counts as. What it does not plan is lost.
ALTER TABLE "activity_code" ADD COLUMN "planned" BOOLEAN;
ALTER TABLE history.activity_code ADD COLUMN planned BOOLEAN;

-- During which time a piece of equipment is in use: its failures are counted over these hours.
ALTER TABLE "equipment" ADD COLUMN "in_use_during" "time_class"[] NOT NULL DEFAULT ARRAY['boring']::"time_class"[];
ALTER TABLE equipment ADD CONSTRAINT equipment_in_use CHECK (cardinality(in_use_during) > 0);
ALTER TABLE history.equipment ADD COLUMN in_use_during public.time_class[] NOT NULL DEFAULT ARRAY['boring']::public.time_class[];

-- To which production day the metres of a stroke belong.
CREATE TYPE "stroke_day" AS ENUM ('split_by_time', 'whole_at_end');
ALTER TABLE "project" ADD COLUMN "stroke_day" "stroke_day" NOT NULL DEFAULT 'split_by_time';
ALTER TABLE history.project ADD COLUMN stroke_day public.stroke_day NOT NULL DEFAULT 'split_by_time';

-- The date of the contract from which calendar time counts; null: from the first shift.
ALTER TABLE "drive" ADD COLUMN "calendar_from" DATE;
ALTER TABLE history.drive ADD COLUMN calendar_from DATE;

SELECT history.keep('activity_code'), history.keep('equipment'), history.keep('project'), history.keep('drive');

-- Other columns or arguments than before: put in anew with the views that rest on them.
DROP FUNCTION IF EXISTS report.ledger_by(int, text, boolean, date, date, numeric) CASCADE;
DROP FUNCTION IF EXISTS report.ledger_in_ground_classes(int, date, date) CASCADE;
DROP FUNCTION IF EXISTS report.ledger_pareto_of(int, date, date) CASCADE;
