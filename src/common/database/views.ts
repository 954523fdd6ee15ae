import { createHash } from 'node:crypto';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import { inOrder, type ViewFile } from './view-order.js';

/** What is put in once more over what is kept of a judgement: all that rests on it, so that it is not judged again. */
const OVER_KEPT = [
  'support/support_judged_of.sql',
  'support/support_cell_laid.sql',
  'support/missing_support_between.sql',
  'support/support_gap.sql',
  'support/unsupported_judged.sql',
  'support/unsupported_length.sql',
  'support/unsupported.sql',
  'support/support_run_judged.sql',
  'support/next_stroke_of.sql',
  'support/before_next_stroke.sql',
  'watch/alert_unsupported.sql',
];

/** Of the files that are put in only there: readers of what is kept, under the names of those who judge. */
const KEPT = 'kept/';

const isOverKept = (name: string): boolean => name.startsWith(KEPT) || OVER_KEPT.includes(name);

/**
 * The files name no schema: put in by one search path they read the tables as they stand, by the second the tables as
 * they stood, and by the third what is kept of the tables as they stand. A figure so has one definition, however it is read.
 */
export const BINDINGS = [
  {
    schema: 'report',
    searchPath: 'report, public',
    fresh: '',
    has: (name: string) => !name.startsWith(KEPT),
  },
  {
    schema: 'report_as_of',
    searchPath: 'report_as_of, as_of, public',
    fresh: 'drop schema if exists report_as_of cascade;',
    has: (name: string) => !name.startsWith(KEPT),
  },
  {
    schema: 'report_kept',
    searchPath: 'report_kept, report, public',
    fresh: 'drop schema if exists report_kept cascade;',
    has: isOverKept,
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
 * answers are the same and slower. A restored dump has lost it.
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
 * Deletes what is kept beside the record, to be done before definitions or tables change in the same transaction: nobody keeps anything until that
 * ends, and whoever works by the old ones is waited for. The heads are locked: who keeps something locks its head first.
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

/** What stands beside a column of a view that says nothing of it itself: a column of one name is of one thing. */
interface ColumnTexts {
  /** Views whose columns say what those of another view say, by name. */
  like: Record<string, string>;
  /** By `view.column`, or by the name of the column alone. */
  columns: Record<string, string>;
}

/** The view files of a build. */
export interface ViewFiles {
  files: ViewFile[];
  columns: ColumnTexts;
  /** Of all of them and of how they are put in. */
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

/** Each column of a view of `report`, with its own comment. */
const COLUMNS = `select c.relname as view, a.attname as column, col_description(c.oid, a.attnum) as text
  from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
  where c.relnamespace = 'report'::regnamespace and c.relkind = 'v'`;

const nameOf = ({ view, column }: { view: string; column: string }): string =>
  `report.${pg.escapeIdentifier(view)}.${pg.escapeIdentifier(column)}`;

/** Columns keep a comment while their view is replaced: those of before would pass for the view's own. */
const dropComments = async (client: pg.Client): Promise<void> => {
  const { rows } = await client.query<{ view: string; column: string; text: string | null }>(COLUMNS);
  const commented = rows.filter(({ text }) => text !== null);
  await client.query(commented.map((row) => `comment on column ${nameOf(row)} is null`).join(';'));
};

/** Comments the columns of `report` that have no comment of their own. */
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
 * Puts the files into the schemas that they are bound to, each after those that it reads, within the transaction under way. What was kept by
 * the definitions of before is deleted: it has ended with them. @throws Error naming the file whose SQL failed
 */
export const putInViews = async (client: pg.Client, views: ViewFiles): Promise<void> => {
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

/** What a reader can rely on in a schema of views: each column of a view and each function, with its arguments and results. */
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
  await client.query(`set local search_path = ${searchPath}`); // names of its own types then bear no schema
  const { rows } = await client.query<{ part: string }>(SHAPE, [schema]);
  return rows.map(({ part }) => part);
};

/**
 * What this build's views offer and those of the database do not; none: it can work with those. Its views are put in
 * beside, to see, and taken back. @throws Error naming the file whose SQL does not fit the tables
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
