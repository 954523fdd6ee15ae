-- The as-built record names all shifts of a stroke: report.as_built returns one column more.
DROP FUNCTION IF EXISTS report.as_built(text, text, numeric, numeric) CASCADE;
