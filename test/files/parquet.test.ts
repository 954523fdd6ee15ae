import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import fc from 'fast-check';
import pg from 'pg';
import { CopiedRows } from '../../src/common/database/copied-rows.js';
import {
  copyToParquet,
  copyToParquetFiles,
  measuredDecimals,
  parquetColumns,
} from '../../src/common/files/parquet/copy-to-parquet.js';
import { sqlType } from '../../src/common/files/parquet/types.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { ducked } from '../harness/duck.js';
import { runs } from '../harness/sizes.js';

// Files are read by DuckDB, whose reader is independent of the writer, and compared with PostgreSQL's own rows.

let database: TestDatabase;
let client: pg.Client;
let folder: string;
let count = 0;

const connected = async (): Promise<pg.Client> => {
  const fresh = new pg.Client({ connectionString: database.url });
  await fresh.connect();
  await fresh.query(`set timezone = 'UTC'`);
  return fresh;
};

const file = (): string => path.join(folder, `${(count += 1)}.parquet`);

const table = async (definition: string, rows: string): Promise<string> => {
  const name = `public.t${(count += 1)}`;
  await client.query(`create table ${name} (${definition}); insert into ${name} ${rows}`);
  return name;
};

const written = async (name: string, order: string): Promise<string> => {
  const into = file();
  await copyToParquet(
    client,
    { columns: await parquetColumns(client, name), from: `${name} order by ${order}` },
    into,
  );
  return into;
};

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'parquet-'));
  database = await freshDatabase('template0');
  client = await connected();
});

afterAll(async () => {
  await client.end();
  await database.drop();
  rmSync(folder, { recursive: true });
});

it('each type is written as its counterpart, up to its limits, and null as null', async () => {
  const name = await table(
    `n int, b boolean, s smallint, i int, l bigint, r real, d double precision, dec numeric(9,3), wide numeric(38,0), open numeric, t text, day date, at timestamptz, at3 timestamptz(3),
     clock timestamp, j jsonb, a int[]`,
    `values (1, true, -32768, -2147483648, -9223372036854775808, 0.1, 1e308, -999999.999, -99999999999999999999999999999999999999, -0.000000001, '', '0001-01-01', '0001-01-01 00:00Z', '1969-12-31 23:59:59.999Z',
       '1999-12-31 23:59:59.999999', '{"a": [1]}', '{1,NULL}'),
     (2, false, 32767, 2147483647, 9223372036854775807, -1e30, 5e-324, 999999.999, 99999999999999999999999999999999999999, 12345678901234567890123456789.123456789, 'ÄÖ "quoted", 𝛼', '9999-12-31',
       '9999-12-31 23:59:59.999999Z', '2027-03-01 06:00Z', '2027-03-28 02:30', 'null', '{}'),
     (3, null, null, null, null, null, null, null, null, null, null, null, null, null, null, null, null),
     (4, true, 0, 0, 0, 0, 'NaN', 0.001, 0, 0, E'a\\nb\\tc', '2000-01-01', '2000-01-01Z', '2000-01-01Z', '2000-01-01', '0', '{3}')`,
  );
  const into = await written(name, 'n');
  expect(
    (await ducked(`select column_name, column_type from (describe select * from '${into}')`)).map((row) =>
      Object.values(row).join(' '),
    ),
  ).toEqual([
    'n INTEGER',
    'b BOOLEAN',
    's INTEGER',
    'i INTEGER',
    'l BIGINT',
    'r DOUBLE',
    'd DOUBLE',
    'dec DECIMAL(9,3)',
    'wide DECIMAL(38,0)',
    'open DECIMAL(38,9)',
    't VARCHAR',
    'day DATE',
    'at TIMESTAMP WITH TIME ZONE',
    'at3 TIMESTAMP WITH TIME ZONE',
    'clock TIMESTAMP',
    'j VARCHAR',
    'a VARCHAR',
  ]);
  expect(
    (await parquetColumns(client, name)).map(({ name: column, type }) => `${column} ${sqlType(type)}`),
  ).toEqual(
    (await ducked(`select column_name, column_type from (describe select * from '${into}')`)).map((row) =>
      Object.values(row).join(' '),
    ),
  );
  const shown = (micros: (column: string) => string, wide: string): string =>
    `select n, b::text as b, s::text as s, i::text as i, l::text as l, r = 0.1::real as r, d, dec::text as dec, wide::text as wide, open::${wide}::text as open, t, day::text as day, ${micros('at')} as at_us,
      ${micros('at3')} as at3_us, ${micros('clock')} as clock_us, j::text as j, a::text as a`;
  const asNumbers = (rows: Record<string, unknown>[]) =>
    rows.map(({ d, r, ...row }) => ({ ...row, d: d === null ? null : Number(d), r }));
  const { rows } = await client.query<Record<string, unknown>>(
    `${shown((column) => `(extract(epoch from "${column}") * 1000000)::bigint::text`, 'numeric(38,9)')} from ${name} order by n`,
  );
  const read = await ducked(
    `${shown((column) => `epoch_us("${column}")::text`, 'decimal(38,9)').replace('r = 0.1::real', 'r::real = 0.1::real')} from '${into}' order by n`,
  );
  expect(asNumbers(read)).toEqual(asNumbers(rows));
});

it('decimals of any size are exact', async () => {
  const digits = fc.stringMatching(/^-?[0-9]{1,28}(\.[0-9]{1,9})?$/);
  await fc.assert(
    fc.asyncProperty(fc.array(digits, { minLength: 1, maxLength: 50 }), async (texts) => {
      const name = await table(
        'n serial, x numeric',
        `(x) values ${texts.map((text) => `(${text})`).join(', ')}`,
      );
      const into = await written(name, 'n');
      const { rows } = await client.query<{ x: string }>(
        `select x::numeric(38,9)::text as x from ${name} order by n`,
      );
      expect(await ducked(`select x::text as x from '${into}' order by n`)).toEqual(rows);
    }),
    runs(5, 100),
  );
});

it.each([
  ['numeric', '0.0000000001', 'x has more than 9 decimals'],
  ['numeric', '100000000000000000000000000000', 'x has more than 29 digits before its point'],
  ['numeric', '-1e40', 'x has more than 29 digits before its point'],
  ['numeric', "'NaN'", 'x is not a number'],
  ['numeric', "'-Infinity'", 'x is not a number'],
  ['date', "'infinity'", 'x is infinite'],
  ['timestamptz', "'-infinity'", 'x is infinite'],
])('a %s of %s is refused, and no file is left', async (type, value, words) => {
  const name = await table(`x ${type}`, `values (${value})`);
  const own = await connected();
  const before = readdirSync(folder);
  const columns = await parquetColumns(own, name);
  await expect(copyToParquet(own, { columns, from: name }, file())).rejects.toThrow(
    `A value of ${words}: x cannot be written exactly.`,
  );
  await own.end();
  expect(readdirSync(folder)).toEqual(before);
});

it('a numeric without declared digits gets the named ones, or those that its rows need', async () => {
  const name = await table('x numeric, y numeric(5,2)', 'values (1::numeric / 3600, 1), (1.50, 2)');
  const needed = await measuredDecimals(client, name);
  expect(needed).toEqual({ x: { precision: 38, scale: 20 } }); // 0.00027777777777777778 by PostgreSQL's division
  const into = file();
  await copyToParquet(
    client,
    { columns: await parquetColumns(client, name, needed), from: `${name} order by x` },
    into,
  );
  expect(await ducked(`select x::text as x, y::text as y from '${into}'`)).toEqual([
    { x: '0.00027777777777777778', y: '1.00' },
    { x: '1.50000000000000000000', y: '2.00' },
  ]);
});

it('no rows give a file with the columns only', async () => {
  const into = await written(await table('x int, y text', 'select 1, null where false'), 'x');
  expect(await ducked(`select count(*)::int as n from '${into}'`)).toEqual([{ n: 0 }]);
  expect(await ducked(`select column_name from (describe select * from '${into}')`)).toHaveLength(2);
});

it('many rows are written in compressed row groups, with the minimum and maximum of each', async () => {
  const rows = 140_000;
  const name = await table(
    'n int, x numeric(9,3), t text, at timestamptz',
    `select k, k / 1000.0, repeat('x', k % 100), timestamptz '2027-03-01Z' + k * interval '1 s' from generate_series(1, ${rows}) k`,
  );
  const into = await written(name, 'n');
  const groups = await ducked(
    `select row_group_num_rows::int as rows, compression, stats_min_value as least, stats_max_value as greatest from parquet_metadata('${into}') where path_in_schema = 'x' order by row_group_id`,
  );
  expect(groups).toEqual([
    { rows: 131_072, compression: 'ZSTD', least: '0.001', greatest: '131.072' },
    { rows: 8_928, compression: 'ZSTD', least: '131.073', greatest: '140.000' },
  ]);
  const sums = 'count(*)::int as n, sum(n)::text as s, sum(x)::text as x, sum(length(t))::text as l';
  const { rows: expected } = await client.query(
    `select ${sums}, (sum(extract(epoch from at)))::bigint::text as at from ${name}`,
  );
  expect(await ducked(`select ${sums}, (sum(epoch("at")))::bigint::text as at from '${into}'`)).toEqual(
    expected,
  );
});

it('long texts are not held in memory for a full row group', async () => {
  const name = await table(
    'n int, t text',
    `select k, repeat(chr(64 + k), 1000000) from generate_series(1, 20) k`,
  );
  const into = await written(name, 'n');
  expect(
    await ducked(
      `select count(*)::int as n, count(distinct t)::int as d, sum(length(t))::int as l from '${into}'`,
    ),
  ).toEqual([{ n: 20, d: 20, l: 20_000_000 }]);
});

it('rows go to the file of their key, null too, and the same rows give the same bytes', async () => {
  const name = await table('k text, n int', `values ('b', 3), ('a', 1), (null, 4), ('a', 2)`);
  const all = async () => {
    const found: Record<string, unknown> = {};
    const source = { columns: await parquetColumns(client, name), from: `${name} order by k, n` };
    for await (const each of copyToParquetFiles(client, source, 'k', file))
      found[String(each.key)] = {
        rows: each.rows,
        sha256: each.sha256,
        read: await ducked(`select k, n from '${each.file}'`),
      };
    return found;
  };
  const first = await all();
  expect(first).toMatchObject({
    a: {
      rows: 2,
      read: [
        { k: 'a', n: 1 },
        { k: 'a', n: 2 },
      ],
    },
    b: { rows: 1, read: [{ k: 'b', n: 3 }] },
    null: { rows: 1, read: [{ k: null, n: 4 }] },
  });
  expect(await all()).toEqual(first);
});

it('rows are read wherever the stream from PostgreSQL is split', () => {
  // COPY binary of two rows (int2 null, text 'ab'), by PostgreSQL's documentation of COPY, Binary Format
  const row = (...fields: (Buffer | null)[]): Buffer =>
    Buffer.concat([
      Buffer.from([0, fields.length]),
      ...fields.flatMap((field) => [
        Buffer.from(field ? [0, 0, 0, field.length] : [255, 255, 255, 255]),
        field ?? Buffer.alloc(0),
      ]),
    ]);
  const head = Buffer.concat([Buffer.from('PGCOPY\n\xff\r\n\0', 'latin1'), Buffer.alloc(8)]);
  const sent = Buffer.concat([
    head,
    row(null, Buffer.from('ab')),
    row(Buffer.from([0, 7]), Buffer.alloc(0)),
    Buffer.from([255, 255]),
  ]);
  for (let size = 1; size <= sent.length; size += 1) {
    const rows = new CopiedRows(2);
    const found: (string | null)[][] = [];
    for (let at = 0; at < sent.length; at += size)
      for (const { bytes, starts, lengths } of rows.rows(sent.subarray(at, at + size)))
        found.push(
          [0, 1].map((field) => {
            const [start = 0, length = 0] = [starts[field], lengths[field]];
            return length < 0 ? null : bytes.toString('hex', start, start + length);
          }),
        );
    expect(found).toEqual([
      [null, '6162'],
      ['0007', ''],
    ]);
  }
});
