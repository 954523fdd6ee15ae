-- compatible: older builds keep working
-- Every transaction is set to the time zone of its project, in the statement that enters the scope: by the id that is entered, as
-- the scope itself holds only from the next statement on.
CREATE FUNCTION time_zone_of(project_id integer) RETURNS text
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'select time_zone from project where id = $1';
GRANT EXECUTE ON FUNCTION time_zone_of TO drivebook_app;
REVOKE EXECUTE ON FUNCTION time_zone_of FROM PUBLIC;
