import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { LAKE_TABLES, SAMPLES } from '../../../src/features/outputs/lake/lake-tables.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { captured } from '../../harness/captured-command.js';
import { killedAt } from '../../harness/command-process.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { Proxy } from '../../harness/proxy.js';
import { until } from '../../harness/until.js';
import { bothOf, digestsOf, secondMonth } from './lake.js';

let database: TestDatabase;
let client: pg.Client;
let proxy: Proxy;
let root: string;
let environment: NodeJS.ProcessEnv;
/** A lake of the record before the change, and the digests of one after it. */
let old: string;
let before: Record<string, string>;
let after: Record<string, string>;

const run = async (folder: string): Promise<void> => {
  const { status, err } = await captured('lake', 'export', folder);
  if (status !== 0) throw new Error(err);
};

const change = (sql: string) => client.query(`begin; ${sql}; commit`);

/** Until the database has noticed that the process is gone, it keeps the lock of the lake. */
const untilLeft = (): Promise<void> =>
  until(async () => {
    const { rowCount } = await client.query(
      'select from pg_stat_activity where datname = current_database() and pid <> pg_backend_pid()',
    );
    return rowCount === 0;
  });

beforeAll(async () => {
  environment = { ...process.env };
  root = mkdtempSync(path.join(tmpdir(), 'lake-killed-'));
  database = await freshDatabase();
  process.env.DATABASE_URL = database.url;
  client = new pg.Client({ connectionString: database.url });
  await client.connect();
  await change(`${wholeRecord(1, 'ALPHA')} ${secondMonth(1)}`);
  await client.query('set search_path = report, public');
  old = path.join(root, 'old');
  await run(old);
  before = digestsOf(old);
  await change(`update shift set digest = 'again' where id in (100, 170); update support_installed set quantity = 9 where id = 170;
    insert into machine_sample (project_id, drive_id, at, position_m) select 1, 1, '2027-04-03Z'::timestamptz + n * interval '1 s', 12 from generate_series(1, 1000) n`);
  const fresh = path.join(root, 'fresh');
  await run(fresh);
  after = digestsOf(fresh);
  proxy = await Proxy.start(database.url);
});

afterAll(async () => {
  process.env = environment;
  await proxy.close();
  await client.end();
  await database.drop();
  rmSync(root, { recursive: true });
});

const moments: [string, (sql: string) => boolean][] = [
  ['at its first file', (sql) => /^copy .*report\.dim_date/.test(sql)],
  ['between two tables of a project', (sql) => /^copy .*report\.fact_boring/.test(sql)],
  ['when the facts are published', (sql) => sql.startsWith(`select 'public.'`)],
  ['at its samples', (sql) => /^copy .*machine_sample_2027_04/.test(sql)],
  ['when all is written', (sql) => sql === 'commit'],
];

describe.each(moments)('an export that is killed %s', (_, moment) => {
  it('leaves whole files, each old or new, and the next one completes', async () => {
    const folder = path.join(root, 'killed');
    cpSync(old, folder, { recursive: true });
    const { status } = await killedAt(proxy, ['lake', 'export', folder], {}, moment);
    expect(status).toBeNull();
    await untilLeft();
    const left = digestsOf(folder);
    expect(Object.keys(left)).toEqual(Object.keys(before));
    for (const [name, digest] of Object.entries(left)) expect([before[name], after[name]]).toContain(digest);
    await run(folder);
    expect(digestsOf(folder)).toEqual(after);
    expect(await captured('lake', 'verify', folder)).toMatchObject({ status: 0 });
    expect(existsSync(path.join(folder, '_unfinished'))).toBe(false);
    for (const table of [...LAKE_TABLES, SAMPLES]) {
      const { lake, view } = await bothOf(client, folder, table);
      expect(lake).toEqual(view);
    }
    rmSync(folder, { recursive: true });
  });
});

it('an export that is killed in an empty folder is completed by the next one', async () => {
  const folder = path.join(root, 'new');
  await killedAt(proxy, ['lake', 'export', folder], {}, (sql) => /^copy .*report\.fact_boring/.test(sql));
  await untilLeft();
  expect(existsSync(path.join(folder, '_unfinished'))).toBe(true);
  await run(folder);
  expect(digestsOf(folder)).toEqual(after);
  rmSync(folder, { recursive: true });
});

it('files newer than the manifest are not mistaken for those that it names', async () => {
  // the state after a kill between two published files, with the record as it was when the manifest was written
  const folder = path.join(root, 'newer');
  const current = path.join(root, 'fresh');
  cpSync(current, folder, { recursive: true });
  mkdirSync(path.join(folder, '_unfinished'));
  for (const name of [
    'fact_support_line/project=ALPHA/drive=N/month=2027-04/data.parquet',
    'machine_sample/project=ALPHA/drive=N/month=2027-03/data.parquet',
  ]) {
    const bytes = readFileSync(path.join(folder, name));
    bytes.writeUInt8(bytes.readUInt8(100) ^ 1, 100); // of the same size
    writeFileSync(path.join(folder, name), bytes);
  }
  await run(folder);
  expect(digestsOf(folder)).toEqual(after);
});

it('an export whose connection breaks reports it, and leaves whole files', async () => {
  const folder = path.join(root, 'broken');
  cpSync(old, folder, { recursive: true });
  process.env.DATABASE_URL = proxy.url;
  proxy.cutAt({ when: 'sent', statement: (sql) => /^copy .*report\.fact_boring/.test(sql) });
  const { status, err } = await captured('lake', 'export', folder);
  proxy.cutAt(undefined);
  process.env.DATABASE_URL = database.url;
  expect([status, err]).toEqual([1, expect.stringContaining('The connection to the database broke: ')]);
  await untilLeft();
  const left = digestsOf(folder);
  for (const [name, digest] of Object.entries(left)) expect([before[name], after[name]]).toContain(digest);
  expect(readdirSync(path.join(folder, '_unfinished'))).toEqual(expect.any(Array));
  await run(folder);
  expect(digestsOf(folder)).toEqual(after);
});
