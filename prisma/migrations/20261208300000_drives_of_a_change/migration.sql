-- compatible: older builds keep working
--
-- The drives that a change wrote to stand beside its tables, so that whoever follows one drive finds its changes without looking
-- through all tables of all changes. It is found from the rows that a statement wrote, and follows from what is sealed: it is an
-- index to the history, and no part of its hashes.

ALTER TABLE history.change ADD COLUMN drives int[] NOT NULL DEFAULT '{}';

COMMENT ON COLUMN history.change.drives IS 'Ids of the drives whose rows it wrote; empty: rows of the project as a whole only.';

DROP FUNCTION history.open_change(int, text);

-- The change of this transaction in a project, opened with its first row. Only this transaction sees it before it is sealed. The lock
-- is held to the end of the transaction, and the number is taken under it: the changes of a project commit in the order of their numbers.
CREATE FUNCTION history.open_change(p_project_id int, p_table text, p_drives int[] DEFAULT '{}') RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = history, pg_temp SET timezone = 'UTC' AS $$
DECLARE
  n bigint;
  known boolean;
BEGIN
  SELECT number, p_table = ANY (tables) AND drives @> p_drives INTO n, known FROM change WHERE project_id = p_project_id AND hash IS NULL;
  IF NOT FOUND THEN
    PERFORM pg_advisory_xact_lock(hashtext('drivebook.history'), p_project_id);
    SET CONSTRAINTS history.seal DEFERRED; -- sealed with the transaction, whatever it made immediate before
    SELECT coalesce(max(number), 0) + 1 INTO n FROM change WHERE project_id = p_project_id;
    INSERT INTO change (project_id, number, actor, credential, reason, request, tables, drives) VALUES (p_project_id, n, public.acting_subject(),
      nullif(current_setting('drivebook.credential', true), ''), nullif(current_setting('drivebook.reason', true), ''),
      nullif(current_setting('drivebook.request', true), ''), ARRAY[p_table], p_drives);
  ELSIF NOT known THEN
    UPDATE change SET tables = CASE WHEN p_table = ANY (tables) THEN tables ELSE tables || p_table END,
      drives = drives || ARRAY(SELECT unnest(p_drives) EXCEPT SELECT unnest(drives))
      WHERE project_id = p_project_id AND number = n;
  END IF;
  RETURN n;
END $$;

REVOKE EXECUTE ON FUNCTION history.open_change FROM PUBLIC;

-- The drive of a row r of a table, as SQL; null: the table is the project's. A row that hangs on another one is of its drive.
CREATE FUNCTION history.drive_of(p_table text) RETURNS text LANGUAGE sql STABLE AS $$
  SELECT CASE
    WHEN p_table = 'drive' THEN 'r.id'
    WHEN p_table = 'baseline_interval' THEN '(SELECT b.drive_id FROM history.baseline b WHERE b.id = r.baseline_id LIMIT 1)'
    WHEN p_table = 'entitlement_item' THEN '(SELECT e.drive_id FROM history.entitlement e WHERE e.id = r.entitlement_id LIMIT 1)'
    WHEN p_table = 'design_section_item' THEN '(SELECT s.drive_id FROM history.design_section s WHERE s.id = r.design_section_id LIMIT 1)'
    WHEN EXISTS (SELECT FROM pg_attribute WHERE attrelid = to_regclass('public.' || p_table) AND attname = 'drive_id' AND NOT attisdropped) THEN 'r.drive_id'
  END
$$;

COMMENT ON FUNCTION history.drive_of IS 'The drive of a row r of a table, as SQL; null: its rows are of the project as a whole.';

-- Keeps the rows of a table from now on; what stands in it is the first version. A migration calls it for each new
-- table, and again after it has added a column (to the table in history too, under the same name and type).
CREATE OR REPLACE FUNCTION history.keep(p_table text) RETURNS void LANGUAGE plpgsql AS $keep$
DECLARE
  columns text;
  -- the columns of the project's own table say its project by its id
  chosen text;
  project text := CASE p_table WHEN 'project' THEN 'id' ELSE 'project_id' END;
  -- the drives of rows written, as SQL with a place for where they stand
  drive text := history.drive_of(p_table);
  drives text := CASE WHEN drive IS NULL THEN '''{}'''
    ELSE format('ARRAY(SELECT DISTINCT d FROM (SELECT %s AS d FROM %%s r WHERE r.%I = p) w WHERE d IS NOT NULL)', drive, project) END;
  made boolean := to_regclass('history.' || p_table) IS NULL;
  p int;
  i text;
BEGIN
  SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) INTO columns FROM pg_attribute
    WHERE attrelid = ('public.' || p_table)::regclass AND attnum > 0 AND NOT attisdropped;
  chosen := columns || CASE p_table WHEN 'project' THEN ', id' ELSE '' END;
  IF made THEN
    EXECUTE format('CREATE TABLE history.%I (LIKE public.%I)', p_table, p_table);
    IF p_table = 'project' THEN ALTER TABLE history.project ADD COLUMN project_id int NOT NULL; END IF;
    EXECUTE format('ALTER TABLE history.%I ADD COLUMN from_change bigint NOT NULL, ADD COLUMN to_change bigint NOT NULL DEFAULT 9223372036854775807, ADD PRIMARY KEY (id, to_change)', p_table);
    EXECUTE format('CREATE INDEX ON history.%I (project_id, from_change)', p_table);
    EXECUTE format('CREATE INDEX ON history.%I (project_id, to_change) WHERE to_change < 9223372036854775807', p_table);
    EXECUTE format('COMMENT ON TABLE history.%I IS %L', p_table, 'Versions of the rows of ' || p_table || ': from the change that brought each until the one that took it away.');
    -- found by the same ways as what stands now; nothing is unique among versions
    FOR i IN SELECT pg_get_indexdef(indexrelid) FROM pg_index x WHERE indrelid = ('public.' || p_table)::regclass AND NOT indisprimary
        AND NOT EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = x.indrelid AND a.attname = 'id' AND a.attnum = ANY (x.indkey)) LOOP
      EXECUTE regexp_replace(i, '^CREATE (UNIQUE )?INDEX \S+ ON public\.', 'CREATE INDEX ON history.');
    END LOOP;
    EXECUTE format('ALTER TABLE history.%I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', p_table);
    EXECUTE format('CREATE POLICY in_scope ON history.%I USING (project_id = (SELECT public.scope_project()))', p_table);
    EXECUTE format('CREATE POLICY owner ON history.%I TO CURRENT_USER USING (true)', p_table);
    EXECUTE format('GRANT SELECT ON history.%I TO drivebook_app', p_table);
  END IF;
  EXECUTE format($f$
    CREATE OR REPLACE FUNCTION history.keep_%1$s() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = history, pg_temp SET timezone = 'UTC' AS $body$
    DECLARE
      p int;
      n bigint;
    BEGIN
      IF TG_OP = 'INSERT' THEN
        FOR p IN SELECT DISTINCT %4$I FROM new_rows WHERE %4$I IS NOT NULL LOOP
          n := open_change(p, '%1$s', %5$s);
          INSERT INTO history.%1$I (%2$s, from_change) SELECT %3$s, n FROM new_rows WHERE %4$I = p;
        END LOOP;
      ELSIF TG_OP = 'DELETE' THEN
        FOR p IN SELECT DISTINCT %4$I FROM old_rows WHERE %4$I IS NOT NULL LOOP
          n := open_change(p, '%1$s', %6$s);
          DELETE FROM history.%1$I h USING old_rows o WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807 AND h.from_change = n;
          UPDATE history.%1$I h SET to_change = n FROM old_rows o WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807;
        END LOOP;
      ELSE
        FOR p IN SELECT DISTINCT %4$I FROM (TABLE old_rows UNION ALL TABLE new_rows) r WHERE %4$I IS NOT NULL LOOP
          IF NOT EXISTS ((TABLE old_rows EXCEPT TABLE new_rows) UNION ALL (TABLE new_rows EXCEPT TABLE old_rows)) THEN CONTINUE; END IF;
          n := open_change(p, '%1$s', %7$s);
          DELETE FROM history.%1$I h USING (TABLE old_rows EXCEPT TABLE new_rows) o
            WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807 AND h.from_change = n;
          UPDATE history.%1$I h SET to_change = n FROM (TABLE old_rows EXCEPT TABLE new_rows) o
            WHERE o.%4$I = p AND h.id = o.id AND h.to_change = 9223372036854775807;
          INSERT INTO history.%1$I (%2$s, from_change) SELECT %3$s, n FROM (TABLE new_rows EXCEPT TABLE old_rows) r WHERE %4$I = p;
        END LOOP;
      END IF;
      RETURN NULL;
    END $body$ $f$, p_table, columns || CASE p_table WHEN 'project' THEN ', project_id' ELSE '' END, chosen, project,
    format(drives, 'new_rows'), format(drives, 'old_rows'), format(drives, '(TABLE old_rows UNION ALL TABLE new_rows)'));
  EXECUTE format('CREATE OR REPLACE VIEW as_of.%I WITH (security_invoker = true) AS SELECT %s FROM history.%I
    WHERE from_change <= (SELECT history.standing_change()) AND to_change > (SELECT history.standing_change())', p_table, columns, p_table);
  EXECUTE format('GRANT SELECT ON as_of.%I TO drivebook_app', p_table);
  IF NOT made THEN RETURN; END IF;
  EXECUTE format('CREATE TRIGGER keep_insert AFTER INSERT ON public.%1$I REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION history.keep_%1$s()', p_table);
  EXECUTE format('CREATE TRIGGER keep_delete AFTER DELETE ON public.%1$I REFERENCING OLD TABLE AS old_rows FOR EACH STATEMENT EXECUTE FUNCTION history.keep_%1$s()', p_table);
  EXECUTE format('CREATE TRIGGER keep_update AFTER UPDATE ON public.%1$I REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION history.keep_%1$s()', p_table);
  EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON public.%1$I FOR EACH STATEMENT EXECUTE FUNCTION history.no_truncate()', p_table);
  FOR p IN EXECUTE format('SELECT DISTINCT %I FROM public.%I WHERE %I IS NOT NULL', project, p_table, project) LOOP
    EXECUTE format('INSERT INTO history.%I (%s, from_change) SELECT %s, history.open_change($1, $2, %s) FROM public.%I r WHERE %I = $1', p_table,
      columns || CASE p_table WHEN 'project' THEN ', project_id' ELSE '' END, chosen,
      CASE WHEN drive IS NULL THEN '''{}''' ELSE format('array_remove(ARRAY[%s], NULL)', drive) END, p_table, project) USING p, p_table;
  END LOOP;
END $keep$;

REVOKE EXECUTE ON FUNCTION history.keep, history.drive_of FROM PUBLIC;

-- The triggers of every kept table, and the changes that were made before.
DO $$
DECLARE
  t text;
  drive text;
BEGIN
  FOR t IN SELECT history.kept_tables() LOOP
    PERFORM history.keep(t);
    drive := history.drive_of(t);
    CONTINUE WHEN drive IS NULL;
    EXECUTE format($q$
      UPDATE history.change c SET drives = c.drives || ARRAY(SELECT unnest(w.drives) EXCEPT SELECT unnest(c.drives))
      FROM (SELECT project_id, number, array_agg(DISTINCT drive) AS drives
        FROM (SELECT r.project_id, v.number, %2$s AS drive FROM history.%1$I r
          CROSS JOIN LATERAL (VALUES (r.from_change), (r.to_change)) v (number) WHERE v.number < 9223372036854775807) e
        WHERE drive IS NOT NULL GROUP BY project_id, number) w
      WHERE c.project_id = w.project_id AND c.number = w.number $q$, t, drive);
  END LOOP;
END $$;
