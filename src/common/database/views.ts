import { createHash } from 'node:crypto';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import type pg from 'pg';

const STAMP = 'Drivebook figures; views sha256 ';

/**
 * The files name no schema: put in by one search path they read the tables as they stand, by the other the tables as
 * they stood. A figure so has one definition, whatever the moment it is asked of.
 */
const BINDINGS = [
  { schema: 'report', searchPath: 'report, public', fresh: '' },
  {
    schema: 'report_as_of',
    searchPath: 'report_as_of, as_of, public',
    fresh: 'drop schema if exists report_as_of cascade;',
  },
];

/** Views ask for their reader's rows, not their owner's, so that row-level security holds through them. */
const OPEN_TO_READERS = (schema: string): string => `do $$
  declare v text;
  begin
    for v in select viewname from pg_views where schemaname = '${schema}' loop
      execute format('alter view ${schema}.%I set (security_invoker = true)', v);
    end loop;
  end $$;
  grant usage on schema ${schema} to drivebook_app;
  grant select on all tables in schema ${schema} to drivebook_app;`;

/**
 * Comparisons that cannot tell a value by failing. PostgreSQL does not say so of them itself, and under row-level
 * security it uses an index on metres or on spans of time only when somebody has. Only a superuser may; without, the
 * answers are the same and slower.
 */
const LEAKPROOF = `do $$
  declare f regprocedure;
  begin
    if not (select rolsuper from pg_roles where rolname = current_user) then return; end if;
    for f in select oid from pg_proc where pronamespace = 'pg_catalog'::regnamespace and not proleakproof and proname in (
      'numeric_eq', 'numeric_lt', 'numeric_le', 'numeric_gt', 'numeric_ge', 'numeric_cmp', 'range_overlaps', 'range_contains_elem') loop
      execute format('alter function %s leakproof', f);
    end loop;
  end $$`;

/**
 * Puts the files of the folder into the schemas `report` and `report_as_of`, in the order of their names and in one
 * transaction, unless the schema's comment says that these very files are in.
 * @returns whether they were put in
 * @throws Error naming the file whose SQL failed
 */
export async function applyViews(client: pg.Client, folder: string): Promise<boolean> {
  await client.query(LEAKPROOF); // a restored dump has lost it
  const names = existsSync(folder)
    ? readdirSync(folder)
        .filter((name) => name.endsWith('.sql'))
        .sort()
    : [];
  const files = names.map((name) => ({ name, sql: readFileSync(path.join(folder, name), 'utf8') }));
  const stamp =
    STAMP +
    createHash('sha256')
      .update(JSON.stringify([files, BINDINGS]))
      .digest('hex');
  const { rows } = await client.query<{ comment: string | null }>(
    `select obj_description(oid, 'pg_namespace') as comment from pg_namespace where nspname = 'report'`,
  );
  if (rows[0]?.comment === stamp) return false;
  await client.query('begin');
  try {
    for (const { schema, searchPath, fresh } of BINDINGS) {
      await client.query(
        `${fresh} create schema if not exists ${schema}; set local search_path = ${searchPath}`,
      );
      for (const { name, sql } of files) {
        await client.query(sql).catch((error: Error) => {
          throw new Error(`View file ${name} failed: ${error.message}`, { cause: error });
        });
      }
      await client.query(OPEN_TO_READERS(schema));
    }
    await client.query(`comment on schema report is '${stamp}'`);
    await client.query('commit');
  } catch (error) {
    await client.query('rollback');
    throw error;
  }
  return true;
}
