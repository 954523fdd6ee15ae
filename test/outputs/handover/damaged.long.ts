import { cpSync, existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { captured } from '../../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { entered, packaged, twoProjects } from './packaged.js';

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
  ['manifest.json', 'files'],
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
