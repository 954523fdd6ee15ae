-- The prefixes of all live API keys. Read once for many guesses, so that a guess costs no statement of its own.
CREATE FUNCTION live_api_key_prefixes() RETURNS TABLE (prefix text) LANGUAGE sql STABLE
SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT k.prefix FROM api_key k WHERE k.revoked_at IS NULL AND k.expires_at > clock_timestamp()
$$;

REVOKE EXECUTE ON FUNCTION live_api_key_prefixes FROM PUBLIC;
GRANT EXECUTE ON FUNCTION live_api_key_prefixes TO drivebook_app;
