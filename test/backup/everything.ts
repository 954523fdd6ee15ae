import pg from 'pg';
import { rowsOf } from '../harness/service-role.js';

export const TABLES = `'r', 'p'`;
export const ALL = `${TABLES}, 'v'`;

/** The names of tables and views. @param kinds  as in pg_class */
export const relationsOf = async (reader: pg.Client, kinds: string): Promise<string[]> => {
  const rows = await rowsOf<{ name: string }>(
    reader,
    `select format('%I.%I', n.nspname, c.relname) as name from pg_class c join pg_namespace n on n.oid = c.relnamespace
     where n.nspname in ('public', 'history', 'report', 'as_of', 'report_as_of') and c.relkind in (${kinds}) and c.relname <> '_prisma_migrations' order by 1`,
  );
  return rows.map(({ name }) => name);
};

/** The rows of every table and view, or of tables alone, in a fixed order; the sequences; and the triggers and constraints of the tables. */
export const everything = async (url: string, kinds = ALL): Promise<Map<string, string>> => {
  const reader = new pg.Client({ connectionString: url, options: '-c timezone=UTC' });
  await reader.connect();
  try {
    const found = new Map<string, string>();
    await reader.query(`select set_config('drivebook.as_of_change', '1', false)`);
    for (const name of await relationsOf(reader, kinds)) {
      const [row] = await rowsOf<{ rows: string }>(
        reader,
        `select coalesce(json_agg(t::text order by t::text collate "C"), '[]')::text as rows from ${name} t`,
      );
      found.set(name, row?.rows ?? '');
    }
    const sequences = await rowsOf(
      reader,
      'select schemaname, sequencename, last_value from pg_sequences order by 1, 2',
    );
    found.set('sequences', JSON.stringify(sequences));
    const guards = await rowsOf(
      reader,
      `select conrelid::regclass::text || ' ' || conname || ' ' || convalidated::text || ' ' || pg_get_constraintdef(oid) as guard from pg_constraint
         where connamespace in ('public'::regnamespace, 'history'::regnamespace)
       union all select tgrelid::regclass::text || ' ' || tgname || ' ' || tgenabled::text from pg_trigger where not tgisinternal
       union all select oid::regclass::text || ' ' || relrowsecurity::text || relforcerowsecurity::text from pg_class
         where relkind in ('r', 'p') and relnamespace in ('public'::regnamespace, 'history'::regnamespace) order by 1`,
    );
    found.set('guards', JSON.stringify(guards));
    return found;
  } finally {
    await reader.end();
  }
};
