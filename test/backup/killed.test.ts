import { mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { wholeRecord } from '../builders/whole-record.js';
import { captured } from '../harness/captured-command.js';
import { killedAt } from '../harness/command-process.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { Proxy } from '../harness/proxy.js';
import { inLong, inTurn, itOnce } from '../harness/sizes.js';
import { until } from '../harness/until.js';
import { everything, TABLES } from './everything.js';

const INTERRUPTED =
  'A restore into this database was interrupted: run "drivebook restore" with the backup again.\n';

/** Enough to fill several pieces of the file. */
const SAMPLES = 10_000;

let folder: string;
let source: TestDatabase;
let client: pg.Client;
let whole: string;
let expected: Map<string, string>;

const use = (url: string): void => {
  process.env.DATABASE_URL = url;
};

/** The n-th statement of a kind. */
const nth = (kind: RegExp, n: number): ((sql: string) => boolean) => {
  let count = 0;
  return (sql) => kind.test(sql) && (count += 1) === n;
};

/** The first statement of one kind after one of another kind. */
const after = (first: RegExp, kind: RegExp): ((sql: string) => boolean) => {
  let isAfter = false;
  return (sql) => (isAfter && kind.test(sql)) || ((isAfter ||= first.test(sql)), false);
};

/** Waits until the database has noticed that the process is gone: until then it keeps its locks. */
const untilLeft = (url: string): Promise<void> =>
  until(async () => {
    const { rowCount } = await client.query('select from pg_stat_activity where datname = $1 and pid <> $2', [
      new URL(url).pathname.slice(1),
      (client as unknown as { processID: number }).processID,
    ]);
    return rowCount === 0;
  });

const filesOf = (name: string): string[] => readdirSync(folder).filter((each) => each.startsWith(name));

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'killed-'));
  source = await freshDatabase();
  client = new pg.Client({ connectionString: source.url });
  await client.connect();
  await client.query(`begin; ${wholeRecord(1, 'ALPHA')}; commit`);
  await client.query(`select make_sample_month('2027-04-01')`);
  await client.query(
    `insert into machine_sample (project_id, drive_id, at, position_m, thrust_kn)
     select 1, 1, timestamptz '2027-04-02 06:00Z' + n * interval '1 s', 2.5, n::numeric / 10 from generate_series(1, $1::int) n`,
    [SAMPLES],
  );
  use(source.url);
  whole = path.join(folder, 'whole.backup');
  const { status, err } = await captured('backup', whole);
  if (status !== 0) throw new Error(err);
  expected = await everything(source.url, TABLES);
});

afterAll(async () => {
  await client.end();
  await source.drop();
  rmSync(folder, { recursive: true });
});

describe('a backup that is killed', () => {
  let proxy: Proxy;

  beforeAll(async () => {
    proxy = await Proxy.start(source.url);
  });

  afterAll(() => proxy.close());

  const moments: [string, () => (sql: string) => boolean][] = [
    ['before its snapshot', () => nth(/^begin isolation level repeatable read/, 1)],
    ['at its first table', () => nth(/^copy /, 1)],
    ['at its samples', () => nth(/^copy .*machine_sample_2027_04/, 1)],
    ['when all has been read', () => nth(/^commit$/, 1)],
  ];

  it.each(inTurn(moments, 1, 2))('%s leaves no file of its name', async (_, moment) => {
    const name = 'killed.backup';
    const { status } = await killedAt(proxy, ['backup', path.join(folder, name)], {}, moment());
    expect(status).toBeNull();
    await untilLeft(source.url);
    const left = filesOf(name);
    expect(left.filter((each) => !each.endsWith('.partial'))).toEqual([]);
    for (const each of left) rmSync(path.join(folder, each));
  });

  inLong(() => {
    it('leaves a part that no restore accepts, and the next one uses its name; the record is unchanged', async () => {
      const name = 'part.backup';
      const file = path.join(folder, name);
      await killedAt(proxy, ['backup', file], {}, nth(/from history\.change order by/, 1));
      await untilLeft(source.url);
      const [part] = filesOf(name);
      expect(part).toMatch(/^part\.backup\.\d+\.partial$/);
      const renamed = path.join(folder, 'renamed');
      renameSync(path.join(folder, part ?? ''), renamed);
      const target = await freshDatabase('template0');
      try {
        use(target.url);
        const restored = await captured('restore', renamed);
        expect([restored.status, restored.err]).toEqual([
          1,
          expect.stringMatching(/is damaged, cut off, or not a backup|is cut off/),
        ]);
      } finally {
        await target.drop();
      }
      use(source.url);
      expect(await captured('backup', file)).toMatchObject({ status: 0, err: '' });
      expect(filesOf(name)).toEqual([name]);
      expect(await everything(source.url, TABLES)).toEqual(expected);
    });
  });
});

describe('a backup whose connection breaks', () => {
  itOnce('in the middle of a table is reported and leaves nothing', async () => {
    const proxy = await Proxy.start(source.url);
    try {
      use(proxy.url);
      const isSamples = nth(/^copy .*machine_sample_2027_04/, 1);
      proxy.cutAt({ when: 'answered', statement: isSamples });
      const { status, err } = await captured('backup', path.join(folder, 'broken.backup'));
      expect([status, err]).toEqual([1, expect.stringContaining('The connection to the database broke: ')]);
      expect(filesOf('broken')).toEqual([]);
    } finally {
      await proxy.close();
    }
  });
});

inLong(() => {
  describe('a restore that is killed', () => {
    /** Each continues from what the one before has left, in one database. */
    const moments: [string, () => (sql: string) => boolean][] = [
      ['while tables are made', () => nth(/^insert into _prisma_migrations/, 3)],
      ['between two migrations', () => nth(/^begin$/, 4)],
      ['before its first row', () => nth(/^truncate /, 1)],
      ['at its first rows', () => nth(/^copy /, 1)],
      ['at its samples', () => nth(/^copy .*machine_sample_2027_04/, 1)],
      ['while its guards are put back', () => nth(/^alter table .* add constraint/, 5)],
      ['while its rows are compared', () => after(/setval/, /^copy /)],
      ['before its commit', () => nth(/^drop table _drivebook\.restore_begun/, 1)],
    ];

    let target: TestDatabase;
    let proxy: Proxy;

    beforeAll(async () => {
      target = await freshDatabase('template0');
      proxy = await Proxy.start(target.url);
    });

    afterAll(async () => {
      await proxy.close();
      await target.drop();
    });

    it.each(moments)(
      '%s leaves a database on which no service starts, and which says what to do',
      async (_, moment) => {
        const { status } = await killedAt(proxy, ['restore', whole], {}, moment());
        expect(status).toBeNull();
        await untilLeft(target.url);
        use(target.url);
        const start = await captured('audit', 'head');
        expect([start.status, start.err]).toEqual([1, INTERRUPTED]);
      },
    );

    it('at its commit leaves all or what the next one completes; then every row is as it was', async () => {
      const moment = after(/^drop table _drivebook\.restore_begun/, /^commit$/);
      const { status } = await killedAt(proxy, ['restore', whole], {}, moment);
      expect(status).toBeNull();
      await untilLeft(target.url);
      use(target.url);
      const start = await captured('audit', 'verify');
      if (start.status !== 0) {
        expect(start.err).toBe(INTERRUPTED);
        expect(await captured('restore', whole)).toMatchObject({ status: 0, err: '' });
      }
      expect(await captured('audit', 'verify')).toMatchObject({ status: 0, err: '' });
      const found = await everything(target.url, TABLES);
      for (const [name, rows] of expected) expect([name, found.get(name)]).toEqual([name, rows]);
    });
  });
});
