import { mkdirSync, renameSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';
import { aFolder, attach, ATTACHMENTS, filesIn, jpeg, pdf, place, sha256 } from './files.js';

let app: TestApp;
let folder: string;
const ids: Record<string, number> = {};
const { DATABASE_URL, ATTACHMENTS_DIR } = process.env;

const [photo, report, gone] = [jpeg(), pdf(100_000), Buffer.from('a note that was removed')];

beforeAll(async () => {
  folder = aFolder();
  app = await startApp({ ATTACHMENTS_DIR: folder });
  await aProject(app);
  await aProject(app, { project: 'P2' });
  for (const { id, code } of await app.sql<{ id: number; code: string }>('select id, code from project'))
    ids[code] = id;
  expect((await attach(app, photo, 'face.jpg')).status).toBe(201);
  expect((await attach(app, report, 'log.pdf')).status).toBe(201);
  expect((await attach(app, gone, 'gone.txt')).status).toBe(201);
  expect((await app.http.delete(`${ATTACHMENTS}/${sha256(gone)}`)).status).toBe(204);
  expect((await attach(app, photo, 'face.jpg', {}, ATTACHMENTS.replace('P1', 'P2'))).status).toBe(201);
  Object.assign(process.env, { DATABASE_URL: app.url, ATTACHMENTS_DIR: folder });
});

afterAll(async () => {
  for (const [name, value] of Object.entries({ DATABASE_URL, ATTACHMENTS_DIR }))
    if (value === undefined) delete process.env[name];
    else process.env[name] = value;
  await app.close();
  rmSync(folder, { recursive: true });
});

/** Runs the command. @returns its exit status and the lines it printed */
const attachments = async (...args: string[]): Promise<{ status: number; out: string[]; err: string }> => {
  const { status, out, err } = await captured('attachments', ...args);
  return { status, out: out.split('\n').filter(Boolean), err };
};

const fileOf = (bytes: Buffer, project = 'P1'): string =>
  path.join(folder, place(ids[project] ?? 0, sha256(bytes)));

const SOUND = ['P1: sound, 3 files', 'P2: sound, 1 files'];

afterEach(async () => {
  expect(await attachments('verify')).toEqual({ status: 0, out: SOUND, err: '' }); // each case undoes its changes
});

it('finds all files as uploaded, including those removed from the record', async () => {
  expect(Object.keys(filesIn(folder))).toHaveLength(4);
  expect((await attachments('verify', '--project', 'P2')).out).toEqual(['P2: sound, 1 files']);
});

it('names a missing file, in its project only', async () => {
  for (const [bytes, words] of [
    [report, `${sha256(report)}, log.pdf of drive N`],
    [gone, `${sha256(gone)}, gone.txt of drive N, removed from the record`],
  ] as const) {
    renameSync(fileOf(bytes), `${folder}/aside`);
    const { status, out } = await attachments('verify');
    renameSync(`${folder}/aside`, fileOf(bytes));
    expect([status, out]).toEqual([1, [`P1: missing: ${words}`, 'P2: sound, 1 files', 'orphaned: aside']]);
  }
});

it('answers as JSON', async () => {
  const answer = async (): Promise<unknown> =>
    JSON.parse((await captured('attachments', 'verify', '--json')).out) as unknown;
  const sound = { project: 'P2', files: 1, faults: [] };
  expect(await answer()).toEqual([{ project: 'P1', files: 3, faults: [] }, sound]);
  renameSync(fileOf(gone), `${folder}/aside`);
  const found = await answer();
  renameSync(`${folder}/aside`, fileOf(gone));
  const missing = { digest: sha256(gone), fileName: 'gone.txt', drive: 'N', removed: true };
  expect(found).toEqual([
    { project: 'P1', files: 3, faults: [{ fault: 'missing', ...missing }] },
    sound,
    { files: 1, faults: [{ fault: 'orphaned', path: 'aside' }] },
  ]);
});

it('names an altered file, even by a single bit', async () => {
  const altered = Buffer.from(photo);
  altered[1000] = (altered[1000] ?? 0) ^ 1;
  writeFileSync(fileOf(photo, 'P2'), altered);
  const { status, out } = await attachments('verify');
  expect((await attachments('verify', '--project', 'P1')).status).toBe(0);
  writeFileSync(fileOf(photo, 'P2'), photo);
  expect([status, out]).toEqual([
    1,
    ['P1: sound, 3 files', `P2: altered: ${sha256(photo)}, face.jpg of drive N`],
  ]);
});

it('names files without an attachment, and unfinished uploads', async () => {
  const strays = [
    place(ids['P1'] ?? 0, sha256('of a transaction that failed')),
    path.join(String(ids['P1']), 'readme.txt'),
    path.join('99', 'ab', 'cd', 'of a project that is not there'),
    path.join('incoming', 'left.part'),
    path.join('incoming', 'coming.part'),
  ];
  for (const stray of strays) {
    mkdirSync(path.dirname(path.join(folder, stray)), { recursive: true });
    writeFileSync(path.join(folder, stray), 'x');
  }
  const earlier = Date.now() / 1000 - 7200;
  utimesSync(path.join(folder, 'incoming', 'left.part'), earlier, earlier);
  const { status, out } = await attachments('verify');
  for (const stray of strays) rmSync(path.join(folder, stray));
  expect([status, out.sort()]).toEqual([
    1,
    [
      ...strays.slice(0, 2).map((stray) => `P1: orphaned: ${stray}`),
      'P2: sound, 1 files',
      ...strays.slice(2, 4).map((stray) => `orphaned: ${stray}`),
    ].sort(),
  ]);
});

it('reports unknown arguments and a missing folder', async () => {
  expect(await attachments('verify', 'all')).toMatchObject({
    status: 2,
    err: expect.stringContaining('too many arguments'),
  });
  expect(await attachments()).toMatchObject({ status: 2 });
  expect(await attachments('--help')).toMatchObject({ status: 0, err: '' });
  expect(await attachments('verify', '--project', 'X')).toMatchObject({
    status: 1,
    err: 'There is no project X.\n',
  });
  delete process.env.ATTACHMENTS_DIR;
  const unset = await attachments('verify');
  process.env.ATTACHMENTS_DIR = folder;
  expect(unset).toMatchObject({
    status: 1,
    err: 'ATTACHMENTS_DIR is not set: there is no folder to look at.\n',
  });
});
