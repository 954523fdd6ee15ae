import { createHash } from 'node:crypto';
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { migrate, shippedFolders } from '../../src/common/database/migrate.js';
import { wholeRecord } from '../builders/whole-record.js';
import { captured } from '../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { rowsOf } from '../harness/service-role.js';
import { ALL, everything, relationsOf, TABLES } from './everything.js';
import { inLong, inShort, itOnce } from '../harness/sizes.js';

const SETTINGS = ['DATABASE_URL', 'DATABASE_OWNER_URL', 'ATTACHMENTS_DIR'] as const;
const before = Object.fromEntries(SETTINGS.map((name) => [name, process.env[name]]));
const OWNER = `owner_${process.pid}`;
const PHOTO = 'photo of ALPHA'; // as named by the builder

let source: TestDatabase;
let client: pg.Client;
let folder: string;
let file: string;
let expected: Map<string, string>;
const targets: TestDatabase[] = [];

const set = (settings: Partial<Record<(typeof SETTINGS)[number], string>>): void => {
  for (const name of SETTINGS) {
    if (settings[name] === undefined) delete process.env[name];
    else process.env[name] = settings[name];
  }
};

const attachmentsIn = (name: string): string => path.join(folder, name);

const emptyDatabase = async (): Promise<TestDatabase> => {
  const target = await freshDatabase('template0');
  targets.push(target);
  return target;
};

const backUp = async (name: string, ...options: string[]): ReturnType<typeof captured> => {
  set({ DATABASE_URL: source.url, ATTACHMENTS_DIR: attachmentsIn('source') });
  return captured('backup', path.join(folder, name), ...options);
};

const restore = async (target: TestDatabase, from = file): ReturnType<typeof captured> => {
  set({ DATABASE_URL: target.url, ATTACHMENTS_DIR: attachmentsIn('target') });
  return captured('restore', from);
};

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'backup-'));
  source = await freshDatabase();
  client = new pg.Client({ connectionString: source.url });
  await client.connect();
  await client.query(`begin; ${wholeRecord(1, 'ALPHA')}; commit; begin; ${wholeRecord(2, 'BETA')}; commit`);
  await client.query(
    `update ground_class set description = E'tab\\t, line\\n, back\\\\slash and größer' where id = 100`,
  );
  await client.query(`alter table machine_sample detach partition machine_sample_2027_03`);
  await client.query(`select make_sample_month('2027-04-01')`);
  await client.query(
    `insert into machine_sample (project_id, drive_id, at, position_m, thrust_kn) values (1, 1, '2027-04-02 06:30Z', 2.5, 0.1)`,
  );
  for (const [project, text] of [
    [1, PHOTO],
    [2, 'photo of BETA'],
  ] as const) {
    const digest = createHash('sha256').update(text).digest('hex');
    const place = path.join(attachmentsIn('source'), String(project), digest.slice(0, 2), digest.slice(2, 4));
    mkdirSync(place, { recursive: true });
    writeFileSync(path.join(place, digest), text);
  }
  file = path.join(folder, 'whole.backup');
  const { status, err } = await backUp('whole.backup', '--with-attachments');
  if (status !== 0) throw new Error(err);
  expected = await everything(source.url);
});

afterAll(async () => {
  set(before);
  await client.end();
  for (const target of targets) await target.drop();
  await client.query('select 1').catch(() => undefined);
  await source.drop();
  rmSync(folder, { recursive: true });
});

inShort(() => {
  it('a failed restore is reported to every start; run again, it has every row, figure, rule and history of the original', async () => {
    const cut = path.join(folder, 'cut.backup');
    writeFileSync(cut, readFileSync(file));
    truncateSync(cut, Math.floor(statSync(file).size * 0.7));
    const target = await emptyDatabase();
    const first = await restore(target, cut);
    expect([first.status, first.err]).toEqual([
      1,
      expect.stringContaining('is damaged, cut off, or not a backup'),
    ]);
    const start = await captured('audit', 'head');
    expect([start.status, start.err]).toEqual([
      1,
      'A restore into this database was interrupted: run "drivebook restore" with the backup again.\n',
    ]);
    const { status, out, err } = await restore(target);
    expect([status, err]).toEqual([0, '']);
    expect(out).toContain('2 histories sound.');
    const found = await everything(target.url);
    expect([...found.keys()]).toEqual([...expected.keys()]);
    for (const [name, rows] of expected) expect([name, found.get(name)]).toEqual([name, rows]);
    expect(expected.get('report.stroke')).toContain('ALPHA'); // not empty
    const photo = createHash('sha256').update(PHOTO).digest('hex');
    const place = path.join(attachmentsIn('target'), '1', photo.slice(0, 2), photo.slice(2, 4), photo);
    expect(readFileSync(place, 'utf8')).toBe(PHOTO);
    expect((await captured('audit', 'verify')).status).toBe(0);
    const again = await restore(target);
    expect([again.status, again.err]).toEqual([
      1,
      expect.stringMatching(
        /^The database is not empty: it holds .*\. A backup is restored into a new database only\.\n$/,
      ),
    ]);
  });
});

/** Backs up during writes: a drive's name and a class's description change together. */
const backUpBusy = async (name: string): Promise<void> => {
  let writing = true;
  let written = 0;
  const writer = new pg.Client({ connectionString: source.url });
  await writer.connect();
  const write = async (): Promise<void> => {
    await writer.query(
      `begin; update drive set name = 'N${written}' where id = 1; update ground_class set description = 'N${written}' where id = 100; commit`,
    );
    written += 1;
  };
  await write(); // from here on the two change together
  const writes = (async () => {
    while (writing) await write();
  })();
  const { status, err } = await backUp(name);
  writing = false;
  await writes;
  await writer.end();
  expect([status, err, written > 1]).toEqual([0, '', true]);
};

inLong(() => {
  it('a backup is one snapshot, whatever is written meanwhile; an owner that is not a superuser restores it and backs up', async () => {
    await backUpBusy('busy.backup');
    const target = await emptyDatabase();
    const name = new URL(target.url).pathname.slice(1);
    const reader = new pg.Client({ connectionString: target.url });
    await client.query(`create role ${OWNER} login password 'secret' createrole`);
    try {
      await client.query(`grant drivebook_app to ${OWNER} with admin option`);
      await client.query(`alter database ${name} owner to ${OWNER}`);
      const url = Object.assign(new URL(target.url), { username: OWNER, password: 'secret' }).href;
      expect(await restore({ ...target, url }, path.join(folder, 'busy.backup'))).toMatchObject({
        status: 0,
        err: '',
      });
      await reader.connect();
      const [row] = await rowsOf(
        reader,
        `select d.name = g.description as one, (select count(*)::int from boring) as borings from drive d, ground_class g where d.id = 1 and g.id = 100`,
      );
      expect(row).toEqual({ one: true, borings: 4 });
      set({ DATABASE_URL: url });
      const copy = path.join(folder, 'by-owner.backup');
      expect(await captured('backup', copy)).toMatchObject({ status: 0, err: '' });
      const third = await emptyDatabase();
      expect(await restore(third, copy)).toMatchObject({ status: 0, err: '' });
      const [restored, found] = [await everything(target.url, TABLES), await everything(third.url, TABLES)];
      for (const [each, rows] of restored) expect([each, found.get(each)]).toEqual([each, rows]);
    } finally {
      await reader.end();
      await target.drop();
      targets.splice(targets.indexOf(target), 1);
      await client.query(`drop owned by ${OWNER}; drop role ${OWNER}`);
    }
  });
});

itOnce('a login that would see only some rows cannot make a backup', async () => {
  const login = `${OWNER}_reader`;
  await client.query(`create role ${login} login password 'secret'; grant drivebook_app to ${login}`);
  try {
    set({ DATABASE_URL: Object.assign(new URL(source.url), { username: login, password: 'secret' }).href });
    const { status, err } = await captured('backup', path.join(folder, 'some.backup'));
    expect([status, err]).toEqual([1, expect.stringContaining('A backup needs the owner of the tables')]);
    expect(readdirSync(folder).filter((name) => name.startsWith('some'))).toEqual([]);
  } finally {
    await client.query(`drop role ${login}`);
  }
});

itOnce('an existing file is not overwritten, and only its owner may read it', async () => {
  const size = statSync(file).size;
  const { status, err } = await backUp('whole.backup');
  expect([status, err]).toEqual([1, `${file} exists already: name a new one.\n`]);
  expect([statSync(file).size, statSync(file).mode & 0o777]).toEqual([size, 0o600]);
});

itOnce('a failed backup leaves nothing behind', async () => {
  set({ DATABASE_URL: source.url, ATTACHMENTS_DIR: attachmentsIn('nowhere') });
  const name = 'failed.backup';
  const { status, err } = await captured('backup', path.join(folder, name), '--with-attachments');
  expect([status, err]).toEqual([
    1,
    expect.stringContaining('is missing: see "drivebook attachments verify"'),
  ]);
  expect(readdirSync(folder).filter((each) => each.startsWith(name))).toEqual([]);
});

inLong(() => {
  it('a newer build restores the backup of an older one, and migrates it', async () => {
    const older = await emptyDatabase();
    const migrations = path.join(folder, 'older-migrations');
    cpSync(shippedFolders.migrations, migrations, { recursive: true });
    const newest = readdirSync(migrations).sort().slice(-2);
    for (const name of newest) rmSync(path.join(migrations, name), { recursive: true });
    await migrate(older.url, { migrations, views: path.join(folder, 'no-views'), version: '0.0.1' });
    const writer = new pg.Client({ connectionString: older.url });
    await writer.connect();
    await writer.query(
      `insert into project (code, name, time_zone, day_start, currency) values ('OLD', 'Old', 'UTC', '06:00', 'EUR')`,
    );
    await writer.end();
    set({ DATABASE_URL: older.url });
    const copy = path.join(folder, 'older.backup');
    expect(await captured('backup', copy)).toMatchObject({ status: 0, err: '' });
    const target = await emptyDatabase();
    const { status, out, err } = await restore(target, copy);
    expect([status, err]).toEqual([0, '']);
    expect(out).toContain('Brought to this build by 2 migrations.');
    const reader = new pg.Client({ connectionString: target.url });
    await reader.connect();
    expect(await rowsOf(reader, 'select code from project')).toEqual([{ code: 'OLD' }]);
    const found = await relationsOf(reader, ALL);
    await reader.end();
    const here = await relationsOf(client, ALL);
    expect(found).toEqual(here.filter((name) => !name.startsWith('public.machine_sample_')));
  });
});

itOnce('a file that is not a backup, of any kind, is not restored', async () => {
  const target = await emptyDatabase();
  const text = path.join(folder, 'text');
  writeFileSync(text, 'no backup');
  for (const none of [text, path.join(folder, 'absent')]) {
    const { status, err } = await restore(target, none);
    expect([status, err]).toEqual([
      1,
      expect.stringMatching(/is damaged, cut off, or not a backup|^There is no file/),
    ]);
  }
  expect(existsSync(attachmentsIn('nowhere'))).toBe(false);
});

itOnce.each([
  [['backup'], "error: missing required argument 'file'"],
  [['backup', 'a', 'b'], "error: too many arguments for 'backup'. Expected 1 argument but got 2."],
  [['restore'], "error: missing required argument 'file'"],
])('%j is not understood', async (args, message) => {
  const { status, err } = await captured(...args);
  expect([status, err.split('\n')[0]]).toEqual([2, message]);
});
