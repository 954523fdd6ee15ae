import { createHash } from 'node:crypto';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import { inOrder, type ViewFile } from './view-order.js';

/** Objects created a second time on top of kept assessments: everything that depends on them, so that nothing is assessed twice. */
const OVER_KEPT = [
  'support/support_judged_of.sql',
  'support/support_cell_laid.sql',
  'support/missing_support_between.sql',
  'support/support_gap.sql',
  'support/unsupported_judged.sql',
  'support/unsupported_length.sql',
  'support/unsupported.sql',
  'support/support_run_judged.sql',
  'support/next_stroke_row_of.sql',
  'support/next_stroke_of.sql',
  'support/before_next_stroke.sql',
  'watch/alert_unsupported.sql',
];

/** Folder of files created only there: readers of what is kept, under the names of the objects that compute it. */
const KEPT = 'kept/';

/** Likewise, readers of what is kept as far as it stands, and of what is judged from there. */
const SINCE = 'since/';

const isOfRecord = (name: string): boolean => !name.startsWith(KEPT) && !name.startsWith(SINCE);

/**
 * The files name no schema: with one search path they read the current tables, with the second the tables as of a moment, with the third
 * the kept results of the current tables, and with the fourth those results as far as they are valid, and what is computed beyond that place.
 * So a figure has one definition, however it is read.
 */
export const BINDINGS = [
  {
    schema: 'report',
    searchPath: 'report, public',
    fresh: '',
    has: isOfRecord,
  },
  {
    schema: 'report_as_of',
    searchPath: 'report_as_of, as_of, public',
    fresh: 'drop schema if exists report_as_of cascade;',
    has: isOfRecord,
  },
  {
    schema: 'report_kept',
    searchPath: 'report_kept, report, public',
    fresh: 'drop schema if exists report_kept cascade;',
    has: (name: string) => name.startsWith(KEPT) || OVER_KEPT.includes(name),
  },
  {
    schema: 'report_since',
    searchPath: 'report_since, report, public',
    fresh: 'drop schema if exists report_since cascade;',
    has: (name: string) => name.startsWith(SINCE) || OVER_KEPT.includes(name),
  },
];

/** Makes views check row-level security as their reader, not their owner. */
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
 * Comparisons that cannot leak a value through an error. PostgreSQL does not mark them leakproof, and under row-level security it
 * only then uses an index on metres or time spans. Only a superuser may mark them; without it the answers are the same, but
 * slower. A restored dump has lost the marks.
 */
export const LEAKPROOF = `do $$
  declare f regprocedure;
  begin
    if not (select rolsuper from pg_roles where rolname = current_user) then return; end if;
    for f in select oid from pg_proc where pronamespace = 'pg_catalog'::regnamespace and not proleakproof and proname in (
      'numeric_eq', 'numeric_lt', 'numeric_le', 'numeric_gt', 'numeric_ge', 'numeric_cmp', 'range_overlaps', 'range_contains_elem') loop
      execute format('alter function %s leakproof', f);
    end loop;
  end $$`;

/**
 * Deletes cached results; run it before definitions or tables change in the same transaction. Nobody caches anything until that
 * ends, and callers still using the old definitions are waited for. It locks the heads: caching begins by locking a head.
 */
export const FORGET_KEPT = `do $$
  declare t text;
  begin
    for t in select unnest(array['draft', 'judgement']) loop
      if to_regclass('kept.' || t) is not null then execute format('lock table kept.%I in share mode', t); end if;
    end loop;
    for t in select relname from pg_class where relnamespace = to_regnamespace('kept') and relkind = 'r' loop
      execute format('delete from kept.%I', t);
    end loop;
  end $$`;

/** Comments for columns without a comment in their own view: columns of the same name mean the same. */
interface ColumnTexts {
  /** Views whose columns have the comments of another view, by name. */
  like: Record<string, string>;
  /** By `view.column`, or by column name alone. */
  columns: Record<string, string>;
}

/** The view files of a build. */
export interface ViewFiles {
  files: ViewFile[];
  columns: ColumnTexts;
  /** Digest of all files and of how they are installed. */
  sha256: string;
}

export const readViews = (folder: string): ViewFiles => {
  const names = (existsSync(folder) ? readdirSync(folder, { recursive: true, encoding: 'utf8' }) : [])
    .filter((name) => name.endsWith('.sql'))
    .map((name) => name.split(path.sep).join('/'))
    .sort();
  const files = names.map((name) => ({ name, sql: readFileSync(path.join(folder, name), 'utf8') }));
  const texts = path.join(folder, 'columns.json');
  const columns = existsSync(texts)
    ? (JSON.parse(readFileSync(texts, 'utf8')) as ColumnTexts)
    : { like: {}, columns: {} };
  const sha256 = createHash('sha256')
    .update(JSON.stringify([files, columns, BINDINGS, OVER_KEPT]))
    .digest('hex');
  return { files, columns, sha256 };
};

const putInto = async (
  client: pg.Client,
  { files }: ViewFiles,
  { schema, searchPath, has }: Pick<(typeof BINDINGS)[number], 'schema' | 'searchPath' | 'has'>,
): Promise<void> => {
  await client.query(`create schema if not exists ${schema}; set local search_path = ${searchPath}`);
  for (const { name, sql } of inOrder(files.filter((file) => has(file.name)))) {
    await client.query(sql).catch((error: Error) => {
      throw new Error(`View file ${name} failed: ${error.message}`, { cause: error });
    });
  }
};

/** The columns of the views of `report`, with their comments. */
const COLUMNS = `select c.relname as view, a.attname as column, col_description(c.oid, a.attnum) as text
  from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
  where c.relnamespace = 'report'::regnamespace and c.relkind = 'v'`;

const nameOf = ({ view, column }: { view: string; column: string }): string =>
  `report.${pg.escapeIdentifier(view)}.${pg.escapeIdentifier(column)}`;

/** Columns keep their comments when their view is replaced: old ones would be mistaken for the view's own. */
const dropComments = async (client: pg.Client): Promise<void> => {
  const { rows } = await client.query<{ view: string; column: string; text: string | null }>(COLUMNS);
  const commented = rows.filter(({ text }) => text !== null);
  await client.query(commented.map((row) => `comment on column ${nameOf(row)} is null`).join(';'));
};

/** Sets comments on the columns of `report` that have none in their own file. */
const commentColumns = async (client: pg.Client, { like, columns }: ColumnTexts): Promise<void> => {
  const { rows } = await client.query<{ view: string; column: string; text: string | null }>(COLUMNS);
  const own = new Map(rows.map(({ view, column, text }) => [`${view}.${column}`, text]));
  const textOf = (view: string, column: string): string | null => {
    const model = like[view];
    const name = `${view}.${column}`;
    return (
      own.get(name) ??
      columns[name] ??
      (model !== undefined && own.has(`${model}.${column}`) ? textOf(model, column) : null) ??
      columns[column] ??
      null
    );
  };
  const comments = rows
    .filter(({ text }) => text === null)
    .map(({ view, column }) => ({ view, column, text: textOf(view, column) }))
    .filter(({ text }) => text !== null)
    .map(
      ({ view, column, text }) =>
        `comment on column ${nameOf({ view, column })} is ${pg.escapeLiteral(text ?? '')}`,
    );
  await client.query(comments.join(';'));
};

/**
 * Installs the files into their schemas, each after those that it reads, within the current transaction. Results cached by the old
 * definitions are deleted. @throws Error naming the file whose SQL failed
 */
export const createViews = async (client: pg.Client, views: ViewFiles): Promise<void> => {
  await client.query(FORGET_KEPT);
  await client.query('create schema if not exists report');
  await dropComments(client);
  for (const binding of BINDINGS) {
    if (binding.fresh) await client.query(binding.fresh);
    await putInto(client, views, binding);
    await client.query(OPEN_TO_READERS(binding.schema));
  }
  await commentColumns(client, views.columns);
};

/** What a reader can rely on in a schema of views: the columns of each view, and the arguments and results of each function. */
const SHAPE = `select c.relname || '.' || a.attname || ' ' || format_type(a.atttypid, a.atttypmod) as part
  from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
  where c.relnamespace = $1::regnamespace and c.relkind = 'v'
  union all
  select p.proname || '(' || pg_get_function_identity_arguments(p.oid) || ')' || coalesce('.' || r.name || ' ' || format_type(r.type, null),
    ' of ' || format_type(p.prorettype, null))
  from pg_proc p
  left join lateral (select name, type from unnest(p.proargnames, p.proallargtypes, p.proargmodes) as t(name, type, mode) where mode = 't') r on true
  where p.pronamespace = $1::regnamespace`;

const shapeOf = async (client: pg.Client, schema: string, searchPath: string): Promise<string[]> => {
  await client.query(`set local search_path = ${searchPath}`); // names of the schema's own types are then printed without the schema
  const { rows } = await client.query<{ part: string }>(SHAPE, [schema]);
  return rows.map(({ part }) => part);
};

/**
 * What this build's views offer and the installed ones lack; if nothing, the build can work with those. To find out, its views are
 * installed and rolled back. @throws Error naming the file whose SQL does not fit the tables
 */
export const lackingOf = async (client: pg.Client, views: ViewFiles): Promise<string[]> => {
  const beside = 'report_of_older_build';
  await client.query('begin');
  try {
    await putInto(client, views, { ...BINDINGS[0], schema: beside, searchPath: `${beside}, public` });
    const needed = await shapeOf(client, beside, `${beside}, public`);
    const offered = new Set(await shapeOf(client, 'report', 'report, public'));
    return needed.filter((part) => !offered.has(part));
  } finally {
    await client.query('rollback');
  }
};
