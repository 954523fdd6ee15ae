import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { captured } from '../../harness/captured-command.js';
import { app, drive, ownDrives } from '../../harness/own-drives.js';
import { readDrawing, wordsOf } from './drawn.js';
import { aWeek, CODES } from './site.js';

// drivebook report diagram

ownDrives('DC');

let folder: string;

beforeAll(async () => {
  await CODES();
  folder = await mkdtemp(path.join(tmpdir(), 'diagrams-'));
});

afterAll(() => rm(folder, { recursive: true }));

const report = async (...args: string[]) => {
  const before = process.env.DATABASE_URL;
  process.env.DATABASE_URL = app.url;
  try {
    return await captured('report', 'diagram', ...args, '--project', 'P1', '--drive', drive);
  } finally {
    if (before === undefined) delete process.env.DATABASE_URL;
    else process.env.DATABASE_URL = before;
  }
};

it('writes SVG or PNG by the name of the file, and overwrites no file', async () => {
  await aWeek();
  const [svg, png] = [path.join(folder, 'a.svg'), path.join(folder, 'a.png')];
  const written = await report('advance', svg, '--to', '2024-03-02');
  expect(written).toMatchObject({
    status: 0,
    out: expect.stringMatching(/a\.svg: diagram advance of drive \S+, \d+ bytes\.\n$/) as unknown,
  });
  expect(wordsOf(readDrawing(await readFile(svg, 'utf8')))).toContain(
    'production days 2024-03-01 to 2024-03-02',
  );
  expect(await report('advance', png, '--json')).toMatchObject({ status: 0 });
  expect((await readFile(png)).subarray(1, 4).toString()).toBe('PNG');
  expect(await report('advance', png)).toMatchObject({
    status: 1,
    err: `${png} exists already: name a new one.\n`,
  });
});

it('refuses options that the diagram does not have, an unknown name, and a file of another format', async () => {
  const file = path.join(folder, 'b.svg');
  expect(await report('advance', file, '--baseline', 'T')).toMatchObject({
    status: 1,
    err: expect.stringContaining('baseline is not taken') as unknown,
  });
  expect(await report('pie', file)).toMatchObject({
    status: 1,
    err: expect.stringContaining('There is no diagram pie') as unknown,
  });
  expect(await report('advance', 'b.gif')).toMatchObject({
    status: 2,
    err: expect.stringContaining('must end with .svg or .png') as unknown,
  });
  await expect(readFile(file)).rejects.toThrow('ENOENT');
});
