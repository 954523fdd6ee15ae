import type pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { CopiedRows, type Fields } from '../../database/copied-rows.js';
import { ParquetFile, type WrittenFile } from './parquet-file.js';
import { type ParquetColumn, parquetColumn } from './types.js';

/** Rows to be written, as SQL. */
export interface ParquetSource {
  columns: readonly ParquetColumn[];
  /** What follows `from`: a relation, its conditions, and the order of the rows. */
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

/** Digits and decimals of a numeric by its modifier, as PostgreSQL packs them. */
const declaredBy = (modifier: number): { precision: number; scale: number } | undefined =>
  modifier < 4 ? undefined : { precision: ((modifier - 4) >> 16) & 0xffff, scale: (modifier - 4) & 0x7ff };

/**
 * The columns of a view or table.
 * @param relation  with its schema, such as report.fact_boring
 * @param decimals  digits and decimals of numerics that the database declares none for; else DECIMAL(38,9)
 * @throws Error when there is no such relation
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
 * Digits and decimals that the numerics of a view need for the rows it has now: for those that the database declares none for.
 * Reads the view once more than writing it does.
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

/** The rows of a source, in the binary form of COPY. */
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
 * @param client  connected, and kept by this until it returns; its rights and transaction are those of the reading
 * @throws Error when the file exists, or a value does not fit its column; no file is left then
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
 * Writes the rows of a source into a file for each value of a key, by which the rows must come in order.
 * @param key  text, as SQL over a row of the source; null is a value like others
 * @param fileOf  the new file of a key
 * @returns each file when it is whole
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
