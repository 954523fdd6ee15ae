import pg from 'pg';
import { ENTITY_SETS } from '../odata/entity-sets.js';
import { textCell } from '../../../common/files/csv.js';
import {
  copyToParquet,
  measuredDecimals,
  parquetColumns,
} from '../../../common/files/parquet/copy-to-parquet.js';
import type { Content } from './package-files.js';
import type { Row, Snapshot } from './snapshot.js';

export interface FactColumn {
  name: string;
  /** type name in PostgreSQL */
  type: string;
  /** meaning and unit, in words */
  text: string;
}

/** A fact or dimension: a view of `report`. */
export interface Fact {
  name: string;
  /** its grain, in words */
  text: string;
  columns: FactColumn[];
  /** the columns that identify a row */
  keys: readonly string[];
}

const VIEWS = `select c.relname as name, coalesce(obj_description(c.oid, 'pg_class'), '') as text,
    json_agg(json_build_object('name', a.attname, 'type', format_type(a.atttypid, a.atttypmod), 'text', coalesce(col_description(c.oid, a.attnum), ''))
      order by a.attnum) as columns
  from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
  where c.relnamespace = 'report'::regnamespace and c.relkind = 'v' and c.relname ~ '^(fact|dim)_'
  group by c.oid, c.relname order by c.relname collate "C"`;

/** Numbers are written as stored, moments in ISO 8601 in UTC. */
const asText = ({ name, type }: FactColumn): string => {
  const column = pg.escapeIdentifier(name);
  if (type.startsWith('timestamp with time zone'))
    return `to_char(${column} at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"')`;
  if (type.startsWith('timestamp')) return `to_char(${column}, 'YYYY-MM-DD"T"HH24:MI:SS.MS')`;
  return `${column}::text`;
};

/** The facts and dimensions of one state of the record, each read by a cursor with little memory. */
export class FactSource {
  constructor(
    private readonly snapshot: Snapshot,
    /** only rows of this drive; undefined: of the whole project */
    private readonly driveId?: number,
  ) {}

  async views(): Promise<Fact[]> {
    const found = await this.snapshot.query<Omit<Fact, 'keys'>>(VIEWS);
    return found.map((view) => ({ ...view, keys: ENTITY_SETS[view.name] ?? [] }));
  }

  /** Rows in the order of the keys, each value as text. */
  rows(view: Fact): AsyncIterable<Row[]> {
    return this.snapshot.rows(`select ${view.columns.map(asText).join(', ')} from ${this.from(view)}`);
  }

  /** Writes the same rows, typed and exact, to a new Parquet file. */
  async writeParquet(view: Fact, file: string): Promise<void> {
    const relation = `report.${view.name}`;
    const { session } = this.snapshot;
    const columns = await parquetColumns(session, relation, await measuredDecimals(session, relation));
    await copyToParquet(session, { columns, from: this.from(view) }, file);
  }

  private from({ name, columns, keys }: Fact): string {
    const ofDrive = this.driveId !== undefined && columns.some((column) => column.name === 'drive_id');
    const order = keys.map((key) => `t.${pg.escapeIdentifier(key)}`).join(', ') || '1';
    return `report.${pg.escapeIdentifier(name)} t ${ofDrive ? `where drive_id = ${Number(this.driveId)}` : ''} order by ${order}`;
  }
}

const BARE = /^(smallint|integer|bigint|numeric|double precision|real|boolean|date|timestamp)/;

const cell = (value: string | null, isBare: boolean): string => {
  if (value === null) return '';
  return isBare ? value : textCell(value);
};

/** Rows as CSV (RFC 4180) with a heading. @param count  called for each chunk with its number of rows */
export async function* csvOfRows(
  columns: FactColumn[],
  rows: AsyncIterable<Row[]>,
  count: (rows: number) => void,
): Content {
  const bare = columns.map(({ type }) => BARE.test(type));
  yield Buffer.from(`${columns.map(({ name }) => name).join(',')}\r\n`);
  for await (const some of rows) {
    count(some.length);
    let text = '';
    for (const row of some)
      text += `${row.map((value, index) => cell(value, bare[index] === true)).join(',')}\r\n`;
    yield Buffer.from(text);
  }
}

const typeInWords = (type: string): string => {
  if (type.startsWith('timestamp with')) return 'moment, UTC';
  if (type.startsWith('timestamp')) return 'date and time by the clock of the site';
  if (type.startsWith('numeric')) return 'decimal number, exact';
  if (type === 'double precision') return 'number';
  if (/int/.test(type)) return 'whole number';
  if (type === 'boolean') return 'true or false';
  return type;
};

/** The data dictionary of the tables, as text. */
export const dictionary = (views: Fact[]): string =>
  [
    '# Data dictionary',
    '',
    'Each file `NAME.csv` is a table in UTF-8 as RFC 4180 has it: commas, lines that end by CR LF, the names of the columns in the first line. Text stands in quotation marks; an empty',
    'cell without them is a value that is not known. Numbers are exact decimals with a point. In front of text that a spreadsheet would run as a formula (it begins with = + - @) an',
    'apostrophe was put; take it away where the text is read by a program.',
    '',
    'Facts (`fact_…`) have one row each of what their first line says. Dimensions (`dim_…`) say what the keys in the facts mean: join them by the columns of the same name.',
    'Units stand in brackets at the end of a meaning.',
    ...views.flatMap(({ name, text, columns, keys }) => [
      '',
      `## ${name}`,
      '',
      text,
      ...(keys.length > 0 ? ['', `Key: ${keys.join(', ')}.`] : []),
      '',
      '| column | holds | meaning |',
      '| --- | --- | --- |',
      ...columns.map(
        (column) =>
          `| ${column.name} | ${typeInWords(column.type)} | ${column.text.replaceAll('|', '\\|').replaceAll('\n', ' ')} |`,
      ),
    ]),
    '',
  ].join('\n');
