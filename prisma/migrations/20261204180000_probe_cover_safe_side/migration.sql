-- compatible: older builds keep working
-- A probe hole that looks out further than this gives no cover: most of it lies outside the section that is bored.
ALTER TABLE "drive" ADD COLUMN "probe_look_out_limit_deg" DECIMAL(5,2) NOT NULL DEFAULT 12;
ALTER TABLE drive ADD CONSTRAINT drive_probe_look_out CHECK (probe_look_out_limit_deg BETWEEN 0 AND 90);
ALTER TABLE history.drive ADD COLUMN probe_look_out_limit_deg DECIMAL(5,2) NOT NULL DEFAULT 12;
SELECT history.keep('drive');

-- It gains a column, which create or replace does not allow.
DROP FUNCTION IF EXISTS report.unmeasured(text, text, date);
