-- The two are asked with a horizon now; without one they would stay beside as they were.
DROP FUNCTION IF EXISTS report.entitlement_result(text, text, text);
DROP FUNCTION IF EXISTS report.entitlement_line(text, text, text);
