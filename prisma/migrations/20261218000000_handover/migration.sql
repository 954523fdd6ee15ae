-- compatible: older builds keep working
-- A handover package holds the record of a project with its history, but not the hashes of its API keys: zeros stand in their place. The entries of the
-- history that brought such versions cannot have their content computed anew; all else of them is checked, and the audit says which they are.
CREATE FUNCTION history.withheld(p_project_id int) RETURNS SETOF bigint LANGUAGE sql STABLE AS $$
  SELECT DISTINCT from_change FROM history.api_key WHERE project_id = p_project_id AND hash = decode(repeat('00', 32), 'hex') ORDER BY 1
$$;

COMMENT ON FUNCTION history.withheld IS 'Entries of a history read from a handover package whose content cannot be computed anew, because the hash of an API key was withheld.';

-- By table and column: what versions that were sealed before the column was added have in it.
CREATE FUNCTION history.later_defaults() RETURNS jsonb LANGUAGE sql IMMUTABLE AS $$
  SELECT '{"project": {"stroke_day": "split_by_time"}, "equipment": {"in_use_during": ["boring"]}, "drive": {"probe_look_out_limit_deg": 12}}'::jsonb
$$;

CREATE OR REPLACE FUNCTION history.first_fault(p_project_id int, p_head_number bigint, p_head_hash bytea)
RETURNS TABLE (number bigint, fault text) LANGUAGE plpgsql STABLE AS $$
DECLARE
  entry record;
  c history.change;
  last history.change;
  all_tables text[] := ARRAY(SELECT history.kept_tables());
  withheld_entries bigint[] := ARRAY(SELECT history.withheld(p_project_id));
  t text;
  columns text;
  moved text;
  stray text;
  early boolean;
  later_defaults CONSTANT jsonb := history.later_defaults();
BEGIN
  SELECT string_agg(format('SELECT from_change AS number, %1$L AS name FROM history.%1$I WHERE project_id = $1
    UNION SELECT to_change, %1$L FROM history.%1$I WHERE project_id = $1', name), ' UNION ') INTO moved FROM unnest(all_tables) AS name;
  FOR entry IN EXECUTE format('SELECT c AS change, coalesce(m.names, ''{}'') AS names FROM history.change c
      LEFT JOIN (SELECT number, array_agg(name) AS names FROM (%s) m GROUP BY number) m ON m.number = c.number
    WHERE c.project_id = $1 ORDER BY c.number', moved) USING p_project_id LOOP
    c := entry.change;
    number := c.number;
    IF c.number <> coalesce(last.number, 0) + 1 THEN
      number := coalesce(last.number, 0) + 1;
      fault := format('it is missing: %s follows %s', c.number, coalesce(last.number, 0));
    ELSIF c.hash IS NULL THEN
      fault := 'it is not sealed';
    ELSIF c.number <> ALL (withheld_entries) AND c.content <> history.content_of(p_project_id, c.number, entry.names)
      AND c.content <> history.content_of(p_project_id, c.number, entry.names, later_defaults) THEN
      fault := 'the rows that it brought or took away are not those it sealed';
    ELSIF c.hash <> history.hash_of(c, coalesce(last.hash, '')) THEN
      fault := 'who, when or why is not what it sealed, or the entry before it is another';
    ELSIF c.made_at <= last.made_at THEN
      fault := 'it was made before the entry that it follows';
    ELSIF c.number = p_head_number AND c.hash <> p_head_hash THEN
      fault := 'its hash is not that of the head noted before: the history was written anew';
    END IF;
    IF fault IS NOT NULL THEN RETURN NEXT; RETURN; END IF;
    last := c;
  END LOOP;
  IF p_head_number > coalesce(last.number, 0) THEN
    number := coalesce(last.number, 0) + 1;
    fault := format('it is missing: the history ends at %s, and the head noted before is %s', coalesce(last.number, 0), p_head_number);
    RETURN NEXT; RETURN;
  END IF;
  -- the record as it stands is what the history says
  FOREACH t IN ARRAY all_tables LOOP
    SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) INTO columns FROM pg_attribute
      WHERE attrelid = ('public.' || t)::regclass AND attnum > 0 AND NOT attisdropped;
    EXECUTE format($q$
      WITH now AS (SELECT %2$s FROM public.%1$I WHERE %3$I = $1),
        kept AS (SELECT %2$s FROM history.%1$I WHERE project_id = $1 AND to_change = 9223372036854775807)
      SELECT min(id)::text FROM ((TABLE now EXCEPT TABLE kept) UNION ALL (TABLE kept EXCEPT TABLE now)) d $q$,
      t, columns, CASE t WHEN 'project' THEN 'id' ELSE 'project_id' END) INTO stray USING p_project_id;
    IF stray IS NOT NULL THEN
      number := coalesce(last.number, 1);
      fault := format('the record is not what the history says: %s %s', t, stray);
      RETURN NEXT; RETURN;
    END IF;
    -- a version that no change brought
    EXECUTE format('SELECT min(id)::text, bool_or(from_change < 1) FROM history.%I WHERE project_id = $1
      AND (from_change NOT BETWEEN 1 AND $2 OR (to_change > $2 AND to_change < 9223372036854775807))', t)
      INTO stray, early USING p_project_id, coalesce(last.number, 0);
    IF stray IS NOT NULL THEN
      number := CASE WHEN early THEN 1 ELSE coalesce(last.number, 0) + 1 END;
      fault := format('it is not the one that brought or took away a version of %s %s', t, stray);
      RETURN NEXT; RETURN;
    END IF;
  END LOOP;
END $$;

-- What the tables of a package are made by, for those who may not read the table of migrations.
CREATE FUNCTION applied_migrations() RETURNS TABLE (name text, checksum text) LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT migration_name::text, checksum::text FROM _prisma_migrations
  WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL ORDER BY migration_name COLLATE "C"
$$;

REVOKE EXECUTE ON FUNCTION applied_migrations FROM PUBLIC;
GRANT EXECUTE ON FUNCTION applied_migrations TO drivebook_app;

-- A package is not written of a history that is not sound. Row-level security holds what is checked to the project in scope.
GRANT EXECUTE ON FUNCTION history.first_fault TO drivebook_app;
