import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { captured } from '../../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { entered, packaged, twoProjects, verified } from './packaged.js';

// What restore says of a package that is not as it was written.

const before = { ...process.env };
let folder: string;
let whole: string;
let source: TestDatabase;
let empty: TestDatabase;

const place = (name: string): string => path.join(folder, name);

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'damaged-'));
  source = await freshDatabase();
  await twoProjects(source, place('attachments'));
  whole = place('whole');
  await packaged(source, { target: whole, attachmentsDir: place('attachments') });
  empty = await freshDatabase('template0');
  Object.assign(process.env, { DATABASE_URL: empty.url, ATTACHMENTS_DIR: place('restored') });
});

afterAll(async () => {
  process.env = before;
  await empty.drop();
  await source.drop();
  rmSync(folder, { recursive: true });
});

/** What the command says of a copy with this change. */
const restored = async (name: string, change: (copy: string) => void): Promise<string> => {
  const copy = place(`restored-from-${name}`);
  cpSync(whole, copy, { recursive: true });
  change(copy);
  const { status, err } = await captured('restore', copy);
  rmSync(copy, { recursive: true });
  const client = new pg.Client({ connectionString: empty.url });
  await client.connect();
  const { rows } = await client.query(
    `select from pg_class where relnamespace::regnamespace::text in ('public', 'history', '_drivebook') and relkind = 'r'`,
  );
  await client.end();
  expect([status, rows.length, existsSync(place('restored'))]).toEqual([1, 0, false]);
  return err.replace(copy, 'COPY');
};

it('names the files that are missing, added or changed, whether it would read them or not, before it writes anything', async () => {
  const paper = 'papers/N/valuation-1.pdf';
  const several = await restored('several', (copy) => {
    rmSync(path.join(copy, 'shifts/N/2027-03-01-day.json'));
    writeFileSync(path.join(copy, 'shifts/N/more.json'), '{}');
    writeFileSync(path.join(copy, paper), 'another paper');
  });
  expect(several.split('\n')).toEqual([
    'COPY is damaged:',
    '  shifts/N/more.json is in no manifest',
    '  shifts/N/2027-03-01-day.json is missing',
    `  ${paper} is not as it was written: its digest differs`,
    '',
  ]);
  const sums = await restored('sums', (copy) => rmSync(path.join(copy, 'SHA256SUMS')));
  expect(sums).toBe('COPY is damaged:\n  SHA256SUMS does not say what the manifest says\n');
});

it.each([
  ['manifest.json', 'format, version'],
  ['record/record.json', 'format, version'],
  ['record/digests.json', 'tables, attachments, heads'],
])('names %s and what it must be, when it is no JSON of its kind', async (name, members) => {
  for (const text of ['{"tables": ', 'null', '{}']) {
    const said = await restored('json', (copy) => {
      writeFileSync(path.join(copy, name), text);
      if (name !== 'manifest.json') entered(copy, name);
    });
    expect(said).toBe(`COPY is damaged: ${name} must be JSON with ${members}.\n`);
  }
});

it('refuses a package of another format, as its script does', async () => {
  const said = await restored('format', (copy) => {
    const file = path.join(copy, 'manifest.json');
    writeFileSync(file, readFileSync(file, 'utf8').replace('"format": 1', '"format": 999'));
    entered(copy, 'manifest.json');
    expect(verified(copy)).toMatchObject({
      status: 1,
      faults: ['the package has format 999, and this script checks format 1'],
    });
  });
  expect(said).toBe(
    'COPY has format 999, and this build reads format 1: restore it by the build that made it, 0.0.0-test, or a newer one.\n',
  );
});

it.each([
  ['a file', 'manifest.json'],
  ['a folder', 'shifts'],
  ['nothing', 'none'],
])('names a link to %s that was added, as its script does', async (_, target) => {
  const said = await restored('link', (copy) => {
    symlinkSync(path.join(copy, target), path.join(copy, 'papers/more'));
    expect(verified(copy).faults).toEqual(['papers/more is in no manifest']);
  });
  expect(said).toBe('COPY is damaged:\n  papers/more is in no manifest\n');
});

it('says of an archive that another program packed what to do with it', async () => {
  // PKWARE APPNOTE 6.3.10: an archive without entries and with a comment, as a program writes it that needs no ZIP64
  const file = place('other.zip');
  const end = Buffer.concat([Buffer.from('PK\x05\x06'), Buffer.alloc(18), Buffer.from('comment')]);
  end.writeUInt16LE(7, 20);
  const bytes = Buffer.concat([Buffer.from('PK\x03\x04'), Buffer.alloc(200), end]);
  writeFileSync(file, bytes);
  expect(await captured('restore', file)).toMatchObject({
    status: 1,
    err: `${file} was packed by another program: unpack it into a folder and name the folder.\n`,
  });
  writeFileSync(file, bytes.subarray(0, -1));
  expect(await captured('restore', file)).toMatchObject({
    status: 1,
    err: `${file} is damaged or cut off: its list of contents is missing.\n`,
  });
});
