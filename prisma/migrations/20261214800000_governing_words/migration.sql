-- Views and functions say "governing" where they said "ruling"; the next start puts them in again. Columns of ground_log_sheet keep their names (ruling_*):
-- the audit seals rows with the names of their columns.
DROP VIEW IF EXISTS report.ruling_class, report.ground_log CASCADE;
DROP FUNCTION IF EXISTS report.ruling_class_of(int), report.ground_cell_of(int), report.ground_strip(text, text), report.baseline_strip(text, text, text),
  report.baseline_cross(text, text, text) CASCADE;
