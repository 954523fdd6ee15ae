-- compatible: older builds keep working
-- Several things may be met in one probe hole: the pairs and matches of indications say which. The views follow.
DROP FUNCTION IF EXISTS report.indication_pair_of(int) CASCADE;
DROP FUNCTION IF EXISTS report.indication_match_of(int) CASCADE;
