-- Support is judged stroke by stroke and piece by piece: these answer other columns now, and are put in again after the migrations.
DROP FUNCTION IF EXISTS report.support_by_stroke(int) CASCADE;
DROP FUNCTION IF EXISTS report.support_standing(int, numeric[]) CASCADE;
DROP FUNCTION IF EXISTS report.missing_support_between(text, text, numeric, numeric, numeric) CASCADE;
DROP FUNCTION IF EXISTS report.missing_support(text, text, numeric) CASCADE;
