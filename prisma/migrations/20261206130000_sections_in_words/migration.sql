-- compatible: older builds keep working
-- A rule that is worded for people has a state of its own: what PostgreSQL says of its constraints is not shown as it is.
CREATE OR REPLACE FUNCTION design_section_once() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  changed int := CASE TG_OP WHEN 'DELETE' THEN OLD.drive_id ELSE NEW.drive_id END;
  one record;
BEGIN
  PERFORM FROM drive WHERE id = changed FOR NO KEY UPDATE; -- those who change sections of a drive follow each other
  WITH edition AS (
    SELECT name, from_m, to_m, coalesce(valid_from, '-infinity') AS since,
      lead(valid_from, 1, 'infinity') OVER (PARTITION BY name ORDER BY valid_from NULLS FIRST) AS until
    FROM design_section WHERE drive_id = changed
  )
  SELECT a.name, b.name AS other INTO one FROM edition a
    JOIN edition b ON a.name < b.name AND a.from_m < b.to_m AND a.to_m > b.from_m AND a.since < b.until AND a.until > b.since LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'design_section_once', TABLE = 'design_section',
      MESSAGE = format('design sections %s and %s would rule one length on one day', one.name, one.other);
  END IF;
  RETURN NULL;
END $$;
