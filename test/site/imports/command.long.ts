import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';

// drivebook import KIND FILE, through the code of the service.

let app: TestApp;
let folder: string;
const { DATABASE_URL } = process.env;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  process.env.DATABASE_URL = app.url;
  folder = mkdtempSync(path.join(tmpdir(), 'drivebook-import-'));
});

afterAll(async () => {
  if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = DATABASE_URL;
  rmSync(folder, { recursive: true });
  await app.close();
});

const run = (kind: string, text: string, ...more: string[]): ReturnType<typeof captured> => {
  const file = path.join(folder, 'table.csv');
  writeFileSync(file, text);
  return captured('import', kind, file, '--project', 'P1', ...more);
};

const HEAD = 'name;from;to;cause;volumeM3';
const names = async () =>
  (await app.sql('select name from overbreak_item order by name')).map(({ name }) => name as string);

it('tries, imports and repeats a table, and reports the result of each row', async () => {
  const text = `${HEAD}\nA;1+200;1+201;geological;1,5\n`;
  const tried = await run('overbreak', text, '--drive', 'N', '--dry-run');
  expect([tried.status, tried.out]).toEqual([
    0,
    '1 row: 1 created, 0 unchanged, 0 updated, 0 rejected, 1 doubted.\nDry run: nothing was written.\n', // nothing was bored there
  ]);
  expect(await names()).toEqual([]);
  expect((await run('overbreak', text, '--drive', 'N')).status).toBe(0);
  expect(await names()).toEqual(['A']);
  const changed = await run('overbreak', text.replace('1,5', '1,75'), '--drive', 'N');
  expect(changed.out).toBe(
    'row 2  A  updated  volumeM3: 1.500 becomes 1.75\n1 row: 0 created, 0 unchanged, 1 updated, 0 rejected, 1 doubted.\n',
  );
  const inParts = await run('overbreak', text, '--drive', 'N', '--report', path.join(folder, 'rows.csv'));
  expect(inParts.out).toMatch(/^1 row: 0 created, 0 unchanged, 1 updated, 0 rejected, 1 doubted\.$/m);
});

it('refuses a table with its rows, or imports the valid ones; declared formats apply', async () => {
  const text = `${HEAD}\nB;1+205;1+206;geological;1.234\nC;1+210;1+211;rain;1.500\n`;
  const ambiguous = await run('overbreak', text, '--drive', 'N');
  expect([ambiguous.status, ambiguous.err]).toEqual([
    1,
    expect.stringMatching(/may have decimals or thousands/),
  ]);
  const refused = await run('overbreak', text, '--drive', 'N', '--decimal', 'point');
  expect([refused.status, refused.err]).toEqual([1, expect.stringMatching(/Refused: nothing was written/)]);
  expect(refused.out).toMatch(/^row 3 {2}C {2}rejected {2}cause must be one of/m);
  expect(await names()).toEqual(['A']);
  const valid = await run('overbreak', text, '--drive', 'N', '--decimal', 'point', '--valid-rows', '--json');
  expect([valid.status, JSON.parse(valid.out)]).toEqual([
    1,
    expect.objectContaining({ created: 1, rejected: 1 }),
  ]);
  expect(await names()).toEqual(['A', 'B']);
});

it('refuses a drive for a kind of the project, and an unknown kind', async () => {
  expect((await run('zones', 'code,name\nZ9,Behind\n')).status).toBe(0);
  expect((await run('zones', 'code,name\nZ9,Behind\n', '--drive', 'N')).err).toMatch(/unknown option/);
  expect((await run('overbreak', `${HEAD}\n`)).err).toMatch(/required option '--drive <code>'/);
  expect((await run('metres', 'a\n1\n')).err).toMatch(/unknown command 'metres'/);
});

it('reads a table in parts with a report, or with more rows than one request allows', async () => {
  const report = path.join(folder, 'report.csv');
  const text = ['name,description', ...Array.from({ length: 120 }, (_, n) => `Y${n},Part ${n}`), 'Y3,Again'];
  const refused = await run(
    'zones',
    text.join('\n').replace('name', 'code').replace('description', 'name'),
    '--report',
    report,
  );
  expect([refused.status, refused.err]).toEqual([1, expect.stringMatching(/Refused: nothing was written/)]);
  expect(refused.out).toBe(
    'row 122  Y3  rejected  Y3 is listed twice, on lines 5 and 122\n121 rows: 120 created, 0 unchanged, 0 updated, 1 rejected.\n',
  );
  expect(readFileSync(report, 'utf8').split('\r\n').slice(-2)).toEqual([
    '122,"Y3","rejected","code","Y3","Y3 is listed twice, on lines 5 and 122"',
    '',
  ]);
  const many = ['code,name', ...Array.from({ length: 20_001 }, (_, n) => `Z${n},Part`)].join('\n');
  const long = await run('zones', many);
  expect([long.status, long.err]).toEqual([
    1,
    expect.stringMatching(/^The table has 20001 rows\. Mode whole takes at most 20000/),
  ]);
});
