-- compatible: older builds keep working
-- Projects with an abbreviation for a time zone (CEST), taken before names of the IANA database were asked for: PostgreSQL converts by it, but
-- no session can be set to it, so that nothing of the project could be read. It means one offset all year round, and gets the IANA zone of
-- that offset; where it is no whole hour, UTC. POSIX forms (UTC+3) can be read, and only people know what was meant: each start names them.
DO $$
DECLARE
  p record;
  offset_h numeric;
  zone text;
BEGIN
  PERFORM set_config('drivebook.actor', 'migration', true);
  FOR p IN SELECT id, time_zone FROM project WHERE time_zone !~ '/' ORDER BY id LOOP
    BEGIN
      PERFORM set_config('TimeZone', p.time_zone, true);
    EXCEPTION WHEN invalid_parameter_value THEN
      offset_h := extract(epoch FROM timezone(p.time_zone, timestamptz '2026-01-01 00:00Z') - timestamp '2026-01-01 00:00') / 3600;
      -- The signs of Etc are those of POSIX: west of Greenwich is positive.
      zone := CASE WHEN offset_h <> trunc(offset_h) OR offset_h NOT BETWEEN -12 AND 14 THEN 'Etc/UTC'
        WHEN offset_h = 0 THEN 'Etc/UTC'
        WHEN offset_h > 0 THEN 'Etc/GMT-' || trunc(offset_h)
        ELSE 'Etc/GMT+' || trunc(-offset_h) END;
      PERFORM set_config('drivebook.reason', format('nothing could be read by the time zone %s: %s means the same', p.time_zone, zone), true);
      UPDATE project SET time_zone = zone WHERE id = p.id;
    END;
  END LOOP;
  PERFORM set_config('TimeZone', 'UTC', true);
END $$;
