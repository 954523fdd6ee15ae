import type pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { CopiedRows, type Fields } from '../../database/copied-rows.js';
import { ParquetFile, type WrittenFile } from './parquet-file.js';
import { type ParquetColumn, parquetColumn } from './types.js';

/** Rows to be written, as SQL. */
export interface ParquetSource {
  columns: readonly ParquetColumn[];
  /** The SQL after `from`: a relation, its conditions, and the order of the rows. */
  from: string;
}

interface CatalogueRow {
  name: string;
  type: string;
  modifier: number;
  description: string | null;
}

const CATALOGUE = `select a.attname as name, format_type(a.atttypid, null) as type, a.atttypmod as modifier, col_description(a.attrelid, a.attnum) as description
  from pg_attribute a where a.attrelid = to_regclass($1) and a.attnum > 0 and not a.attisdropped order by a.attnum`;

/** Precision and scale of a numeric from its type modifier, as PostgreSQL packs them. */
const declaredBy = (modifier: number): { precision: number; scale: number } | undefined =>
  modifier < 4 ? undefined : { precision: ((modifier - 4) >> 16) & 0xffff, scale: (modifier - 4) & 0x7ff };

/**
 * The columns of a view or table.
 * @param relation  with its schema, such as report.fact_boring
 * @param decimals  precision and scale of numerics for which the database declares none; otherwise DECIMAL(38,9)
 * @throws Error when the relation does not exist
 */
export const parquetColumns = async (
  client: pg.Client,
  relation: string,
  decimals: Readonly<Record<string, { precision: number; scale: number }>> = {},
): Promise<ParquetColumn[]> => {
  const { rows } = await client.query<CatalogueRow>(CATALOGUE, [relation]);
  if (rows.length === 0) throw new Error(`There is no view or table ${relation}.`);
  return rows.map(({ name, type, modifier, description }) =>
    parquetColumn(name, type, declaredBy(modifier) ?? decimals[name], description ?? ''),
  );
};

/**
 * Precision and scale that a view's current rows need, for numerics for which the database declares none.
 * Costs one more reading of the view.
 */
export const measuredDecimals = async (
  client: pg.Client,
  relation: string,
): Promise<Record<string, { precision: number; scale: number }>> => {
  const { rows } = await client.query<CatalogueRow>(CATALOGUE, [relation]);
  const names = rows
    .filter(({ type, modifier }) => type === 'numeric' && modifier < 4)
    .map(({ name }) => name);
  if (names.length === 0) return {};
  const { rows: scales } = await client.query<{ scales: (number | null)[] }>(
    `select array[${names.map((name) => `max(scale(trim_scale("${name}")))`).join(', ')}] as scales from ${relation}`,
  );
  return Object.fromEntries(
    names.map((name, n) => [name, { precision: 38, scale: scales[0]?.scales[n] ?? 0 }]),
  );
};

/** The rows of a source, in COPY's binary format. */
async function* rowsOf(
  client: pg.Client,
  { columns, from }: ParquetSource,
  before: readonly string[],
): AsyncGenerator<Generator<Fields, void>, void> {
  const list = [...before, ...columns.map(({ sql }) => sql)];
  const found = new CopiedRows(list.length);
  const copy = client.query(
    copyTo(`copy (select ${list.join(', ')} from ${from}) to stdout with (format binary)`),
  );
  for await (const piece of copy) yield found.rows(piece as Buffer);
}

/**
 * Writes the rows of a source into a new Parquet file: exact, typed, compressed (Zstandard), with statistics. Memory does not grow with the rows.
 * @param client  connected, and used exclusively until this returns; the rows are read with its rights and in its transaction
 * @throws Error when the file exists, or a value does not fit its column; then no file is left
 */
export const copyToParquet = async (
  client: pg.Client,
  source: ParquetSource,
  file: string,
): Promise<WrittenFile> => {
  const into = await ParquetFile.create(file, source.columns);
  try {
    for await (const rows of rowsOf(client, source, []))
      for (const row of rows) if (into.add(row, 0)) await into.flush();
    return await into.end();
  } catch (error) {
    await into.abandon();
    throw error;
  }
};

/**
 * Writes the rows of a source into one file per value of a key; the rows must be ordered by that key.
 * @param key  text, as SQL over a row of the source; null is a value like any other
 * @param fileOf  path of the new file for a key
 * @returns each file once it is complete
 */
export async function* copyToParquetFiles(
  client: pg.Client,
  source: ParquetSource,
  key: string,
  fileOf: (key: string | null) => string,
): AsyncGenerator<WrittenFile & { key: string | null; file: string }, void> {
  let current: { key: string | null; file: string; into: ParquetFile } | undefined;
  const ended = async ({
    into,
    ...named
  }: NonNullable<typeof current>): Promise<WrittenFile & typeof named> => {
    const written = await into.end();
    current = undefined;
    return { ...named, ...written };
  };
  try {
    for await (const rows of rowsOf(client, source, [key]))
      for (const row of rows) {
        const own = keyOf(row);
        if (current && current.key !== own) yield await ended(current);
        if (!current) {
          const file = fileOf(own);
          current = { key: own, file, into: await ParquetFile.create(file, source.columns) };
        }
        if (current.into.add(row, 1)) await current.into.flush();
      }
    if (current) yield await ended(current);
  } finally {
    await current?.into.abandon();
  }
}

const keyOf = ({ bytes, starts, lengths }: Fields): string | null => {
  const [start = 0, length = 0] = [starts[0], lengths[0]];
  return length < 0 ? null : bytes.toString('utf8', start, start + length);
};
