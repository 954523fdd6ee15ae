import { createHash } from 'node:crypto';
import type { Readable } from 'node:stream';
import pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import type { AuditHead, SequenceValue, TableDigest, TableShape } from './format.js';

/** With these settings COPY writes the same text on every server and for every login. */
export const PLAIN_TEXT = `set timezone = 'UTC'; set datestyle = 'ISO, YMD'; set intervalstyle = 'iso_8601'; set extra_float_digits = 1;
  set bytea_output = 'hex'; set client_encoding = 'UTF8'; set statement_timeout = 0; set lock_timeout = 0;
  set idle_in_transaction_session_timeout = 0; set search_path = public`;

/** The schemas in which migrations create tables. Views, and the list of installed ones, are created anew. */
const SCHEMAS = `('public', 'history')`;

/** The one table outside these schemas that neither migrations nor a start can recreate. */
const RETIRED_MONTHS = `n.nspname = '_drivebook' and c.relname = 'retired_sample_month'`;

const TABLE_SHAPES = `select n.nspname as schema, c.relname as name,
    (select coalesce(json_agg(a.attname order by a.attnum), '[]') from pg_attribute a
      where a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped and a.attgenerated = '') as columns,
    coalesce((select json_agg(quote_ident(a.attname) || case when a.attcollation <> 0 then ' collate "C"' else '' end order by k.place)
      from pg_index x cross join lateral unnest(x.indkey::int2[]) with ordinality as k(attnum, place)
      join pg_attribute a on a.attrelid = x.indrelid and a.attnum = k.attnum where x.indrelid = c.oid and x.indisprimary), '["t::text collate \\"C\\""]') as "order",
    case when c.relname ~ '^machine_sample_\\d{4}_\\d\\d$' then c.relispartition end as attached
  from pg_class c join pg_namespace n on n.oid = c.relnamespace
  where (n.nspname in ${SCHEMAS} or ${RETIRED_MONTHS}) and c.relkind = 'r' and c.relname <> '_prisma_migrations'
  order by n.nspname desc, c.relname collate "C"`;

export const tableShapes = async (client: pg.Client): Promise<TableShape[]> => {
  const { rows } = await client.query<Omit<TableShape, 'attached'> & { attached: boolean | null }>(
    TABLE_SHAPES,
  );
  return rows.map(({ attached, ...table }) => (attached === null ? table : { ...table, attached }));
};

/** The sequences of the tables, with their current values. */
export const sequenceValues = async (client: pg.Client): Promise<SequenceValue[]> => {
  const { rows: names } = await client.query<{ name: string }>(
    `select quote_ident(n.nspname) || '.' || quote_ident(c.relname) as name from pg_class c join pg_namespace n on n.oid = c.relnamespace
     where n.nspname in ${SCHEMAS} and c.relkind = 'S' order by 1`,
  );
  const values: SequenceValue[] = [];
  for (const { name } of names) {
    const { rows } = await client.query<{ value: string; called: boolean }>(
      `select last_value::text as value, is_called as called from ${name}`,
    );
    for (const row of rows) values.push({ name, ...row });
  }
  return values;
};

/** The newest entry of each project's history. */
export const auditHeads = async (client: pg.Client): Promise<AuditHead[]> => {
  const { rows } = await client.query<AuditHead>(
    `select distinct on (project_id) project_id as "projectId", number::text, encode(hash, 'hex') as hash
     from history.change order by project_id, history.change.number desc`,
  );
  return rows;
};

export const quoted = ({ schema, name }: Pick<TableShape, 'schema' | 'name'>): string =>
  `${pg.escapeIdentifier(schema)}.${pg.escapeIdentifier(name)}`;

export const columnList = ({ columns }: TableShape): string => columns.map(pg.escapeIdentifier).join(', ');

/** The rows of a table as text, one line each, in key order. */
export const rowsOut = (client: pg.Client, table: TableShape): Readable =>
  client.query(
    copyTo(
      `copy (select ${columnList(table)} from only ${quoted(table)} t order by ${table.order.join(', ')}) to stdout`,
    ),
  );

const NEWLINE = 10;

/** Counts and digests rows as they pass through. */
export class Digesting {
  private readonly hash = createHash('sha256');
  private rows = 0;

  add(piece: Buffer): void {
    this.hash.update(piece);
    for (let at = piece.indexOf(NEWLINE); at >= 0; at = piece.indexOf(NEWLINE, at + 1)) this.rows += 1; // a line feed within a value is written as \n
  }

  get rowCount(): number {
    return this.rows;
  }

  digest(): TableDigest {
    return { rows: this.rows, sha256: this.hash.digest('hex') };
  }
}

/** The digest of a table's current rows. */
export const digestOf = async (client: pg.Client, table: TableShape): Promise<TableDigest> => {
  const digesting = new Digesting();
  for await (const piece of rowsOut(client, table)) digesting.add(piece as Buffer);
  return digesting.digest();
};
