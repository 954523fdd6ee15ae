import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { captured } from '../../harness/captured-command.js';
import { app, drive, ownDrives } from '../../harness/own-drives.js';
import { pagesOf } from '../../payment/valuations/paper.js';
import { aWeek, CODES } from '../diagrams/site.js';
import { readStrip } from './drawn.js';

// drivebook report as-built

ownDrives('SC');

let folder: string;

beforeAll(async () => {
  await CODES();
  folder = await mkdtemp(path.join(tmpdir(), 'strips-'));
});

afterAll(() => rm(folder, { recursive: true }));

const report = async (file: string, ...args: string[]) => {
  const before = process.env.DATABASE_URL;
  process.env.DATABASE_URL = app.url;
  try {
    const place = ['--project', 'P1', '--drive', drive, '--from', '1+200', '--to', '1+260'];
    return await captured('report', 'as-built', path.join(folder, file), ...place, ...args);
  } finally {
    if (before === undefined) delete process.env.DATABASE_URL;
    else process.env.DATABASE_URL = before;
  }
};

const read = (file: string): Promise<Buffer> => readFile(path.join(folder, file));

it('writes SVG, PDF, XLSX, CSV or JSON by the name of the file, and overwrites no file', async () => {
  await aWeek();
  const svg = await report('a.svg', '--scale', '1:200', '--tracks', 'class,dates');
  expect(svg).toMatchObject({
    status: 0,
    out: expect.stringMatching(
      /a\.svg: as-built record of drive \S+, 1\+200 to 1\+260, \d+ bytes\.\n$/,
    ) as unknown,
    err: '', // no terminal, no progress
  });
  const strip = readStrip((await read('a.svg')).toString());
  expect([...strip.groups.keys()].filter((name) => name.startsWith('track'))).toEqual([
    'track class',
    'track dates',
  ]);
  expect(await report('a.pdf', '--json')).toMatchObject({ status: 0 });
  expect((await pagesOf(await read('a.pdf')))[0]?.text).toContain('1+200.000 to 1+260.000');
  expect(await report('a.xlsx')).toMatchObject({ status: 0 });
  expect((await read('a.xlsx')).subarray(0, 2).toString()).toBe('PK');
  expect(await report('a.csv', '--table', 'strokes')).toMatchObject({ status: 0 });
  const { text } = await app.http.get(
    `/v1/projects/P1/drives/${drive}/as-built/tables.csv?from=1%2B200&to=1%2B260&table=strokes`,
  );
  expect((await read('a.csv')).toString()).toBe(text);
  const json = await report('a.json', '--json');
  const bytes = (await read('a.json')).length;
  expect(JSON.parse(json.out)).toEqual({
    file: path.join(folder, 'a.json'),
    ...{ from: '1+200', to: '1+260', bytes },
  });
  const { body } = await app.http.get(`/v1/projects/P1/drives/${drive}/as-built?from=1%2B200&to=1%2B260`);
  expect(JSON.parse((await read('a.json')).toString())).toEqual(body);
  expect(await report('a.pdf')).toMatchObject({
    status: 1,
    err: `${path.join(folder, 'a.pdf')} exists already: name a new one.\n`,
  });
});

it('shows its progress on a terminal', async () => {
  const before = process.stderr.isTTY;
  process.stderr.isTTY = true;
  try {
    expect(await report('t.pdf', '--scale', '1:100', '--json')).toMatchObject({
      status: 0,
      err: 'Reading 1+200.000 to 1+260.000 …\nDrawing 2 sheets at 1:100 …\n', // 34 m per sheet
    });
    expect(await report('t.json')).toMatchObject({ status: 0, err: 'Reading 1+200 to 1+260 …\n' });
  } finally {
    process.stderr.isTTY = before;
  }
});

it('refuses an unknown track, an unknown scale, and a file of another format', async () => {
  expect(await report('b.svg', '--tracks', 'geology')).toMatchObject({
    status: 1,
    err: expect.stringContaining('track "geology" is unknown') as unknown,
  });
  expect(await report('b.svg', '--scale', '1:300')).toMatchObject({
    status: 2,
    err: expect.stringContaining('must be one of 1:100, 1:200') as unknown,
  });
  expect(await report('b.png')).toMatchObject({
    status: 2,
    err: expect.stringContaining('must end with .pdf, .svg, .xlsx, .csv or .json') as unknown,
  });
  for (const [file, ...more] of [['b.csv'], ['b.svg', '--table', 'strokes']])
    expect(await report(file as string, ...more)).toMatchObject({
      status: 2,
      err: expect.stringContaining('--table goes with a CSV file') as unknown,
    });
  for (const [file, ...more] of [
    ['b.xlsx', '--tracks', 'class'],
    ['b.json', '--scale', '1:200'],
  ])
    expect(await report(file as string, ...more)).toMatchObject({
      status: 2,
      err: expect.stringContaining('--scale and --tracks go with a PDF or SVG file') as unknown,
    });
  await expect(read('b.svg')).rejects.toThrow('ENOENT');
});
