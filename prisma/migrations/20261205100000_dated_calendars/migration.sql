-- Calendars follow one another: the shifts of a calendar carry the date from which it is in force. Those that stand are valid
-- from the beginning (null). A shift keeps the row under which it was posted, and so do its times: a later calendar changes
-- neither. Days on which the site is closed are data of the project or of one drive.

ALTER TABLE "calendar_shift" ADD COLUMN "valid_from" DATE;
DROP INDEX "calendar_shift_project_id_name_key";
CREATE UNIQUE INDEX "calendar_shift_project_id_valid_from_name_key" ON "calendar_shift"("project_id", "valid_from", "name") NULLS NOT DISTINCT;

ALTER TABLE calendar_shift
  ADD CONSTRAINT calendar_shift_valid_from CHECK (valid_from >= '1900-01-01' AND valid_from < '2200-01-01');

COMMENT ON TABLE calendar_shift IS 'A shift of a calendar of the project. The rows of one valid_from are one calendar; on a date the one counts whose valid_from is the last on or before it.';
COMMENT ON COLUMN calendar_shift.valid_from IS 'Date from which its calendar is in force; null: from the beginning.';

ALTER TABLE history.calendar_shift ADD COLUMN valid_from DATE;
SELECT history.keep('calendar_shift');

CREATE TABLE "site_closure" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "drive_id" INTEGER,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "from_date" DATE NOT NULL,
    "to_date" DATE NOT NULL,
    "planned" BOOLEAN NOT NULL,

    CONSTRAINT "site_closure_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "site_closure_project_id_code_key" ON "site_closure"("project_id", "code");
ALTER TABLE "site_closure" ADD CONSTRAINT "site_closure_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT "site_closure_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE site_closure
  ADD CONSTRAINT site_closure_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT site_closure_name CHECK (name ~ '\S'),
  ADD CONSTRAINT site_closure_dates CHECK (from_date >= '1900-01-01' AND to_date < '2200-01-01' AND to_date - from_date BETWEEN 0 AND 3659);

COMMENT ON TABLE site_closure IS 'Days on which no shift is expected, from its first date to its last: a holiday, a break, a stop of the site.';
COMMENT ON COLUMN site_closure.drive_id IS 'The drive that is closed; null: the whole site.';
COMMENT ON COLUMN site_closure.planned IS 'Whether the programme planned it, as it does holidays.';

SELECT hold_to_scope('site_closure'), history.keep('site_closure');

-- utilisation_by answers more columns: it is made anew with the views
DROP FUNCTION IF EXISTS report.utilisation_by(int, text, date, date) CASCADE;
