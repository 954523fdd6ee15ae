-- What the service asks beyond a scope is for the service alone: each start takes the functions that run for their owner
-- from everybody else.
GRANT EXECUTE ON FUNCTION project_access, is_administrator, project_codes, live_api_key, use_api_key TO drivebook_app;
REVOKE EXECUTE ON FUNCTION project_access, is_administrator, project_codes, live_api_key, use_api_key FROM PUBLIC;
