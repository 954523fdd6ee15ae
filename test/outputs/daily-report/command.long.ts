import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { idleDay } from '../../builders/days.js';
import { captured } from '../../harness/captured-command.js';
import { app, drive, ownDrives } from '../../harness/own-drives.js';
import { pagesOf } from '../../payment/valuations/paper.js';
import { aFullDay, CODES, DAY, put, read } from './site.js';

// drivebook report day and month

ownDrives('RC');

let folder: string;

beforeAll(async () => {
  await CODES();
  folder = await mkdtemp(path.join(tmpdir(), 'days-'));
});

afterAll(() => rm(folder, { recursive: true }));

const report = async (...args: string[]) => {
  const before = process.env.DATABASE_URL;
  process.env.DATABASE_URL = app.url;
  try {
    return await captured('report', ...args, '--project', 'P1', '--drive', drive);
  } finally {
    if (before === undefined) delete process.env.DATABASE_URL;
    else process.env.DATABASE_URL = before;
  }
};

const file = (name: string): string => path.join(folder, name);

it('writes PDF, HTML or JSON by the name of the file, and overwrites no file', async () => {
  await aFullDay();
  expect(await report('day', DAY, file('a.pdf'))).toMatchObject({
    status: 0,
    out: expect.stringMatching(
      new RegExp(`a\\.pdf: daily report ${DAY} of drive \\S+, 2 shifts, \\d+ bytes\\.\n$`),
    ) as unknown,
  });
  expect(await report('day', DAY, file('a.html'))).toMatchObject({ status: 0 });
  const { out } = await report('day', DAY, file('a.json'), '--json');
  expect(JSON.parse(out)).toMatchObject({ date: DAY, shifts: 2 });
  expect(JSON.parse(await readFile(file('a.json'), 'utf8'))).toEqual(await read());
  expect((await pagesOf(await readFile(file('a.pdf')))).at(0)?.text).toContain(`Shift report ${DAY} day`);
  const html = await readFile(file('a.html'), 'utf8');
  expect(html).toContain('Face wet on the left.');
  expect(html).toContain('.sheet > header {'); // the style sheet is embedded
  expect(html).not.toMatch(/(href|src)=/); // and nothing is loaded
  expect(await report('day', DAY, file('a.pdf'))).toMatchObject({
    status: 1,
    err: `${file('a.pdf')} exists already: name a new one.\n`,
  });
});

it('writes the days of a month one after another', async () => {
  await aFullDay();
  await put('/shifts/2024-03-05/day', idleDay('2024-03-05'));
  await put('/shifts/2024-04-01/day', idleDay('2024-04-01'));
  const written = await report('month', '2024-03', file('m.pdf'), '--json');
  expect([written.status, written.err, JSON.parse(written.out)]).toMatchObject([
    0,
    '',
    { month: '2024-03', days: 2 },
  ]);
  const sums = (await pagesOf(await readFile(file('m.pdf')))).flatMap(
    ({ text }) => /^Production day \S+: totals/.exec(text) ?? [],
  );
  expect(sums).toEqual([`Production day ${DAY}: totals`, 'Production day 2024-03-05: totals']);
});

it('refuses a day without a shift, invalid dates, and files of another format', async () => {
  expect(await report('day', DAY, file('b.pdf'))).toMatchObject({
    status: 1,
    err: expect.stringContaining(`no shift that starts in production day ${DAY}`) as unknown,
  });
  expect(await report('month', '2024-02', file('b.pdf'))).toMatchObject({
    status: 1,
    err: expect.stringContaining('no shift that starts in month 2024-02') as unknown,
  });
  for (const [args, said] of [
    [['day', '2024-02-30', 'b.pdf'], 'must be a date'],
    [['day', DAY, 'b.doc'], 'must end with .pdf, .html or .json'],
    [['month', '2024-13', 'b.pdf'], 'must be a month'],
    [['month', '2024-03', 'b.html'], 'must end with .pdf'],
  ] as const)
    expect(await report(...args)).toMatchObject({ status: 2, err: expect.stringContaining(said) as unknown });
  await expect(readFile(file('b.pdf'))).rejects.toThrow('ENOENT');
});
