-- Support is judged from the lines at once, without the standing of each cell between. The judgement answers fewer rows, and is put in again after the migrations.
DROP FUNCTION IF EXISTS report.support_judged(int, numeric[]) CASCADE;
DROP FUNCTION IF EXISTS report.support_standing(int, numeric[]) CASCADE;
