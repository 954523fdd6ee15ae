import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';

const SAMPLES = '/v1/projects/P1/drives/N/samples';
const MARCH =
  '{"at":"2027-03-01T06:00:00Z","positionM":0,"thrustKn":9000.1}\n{"at":"2027-03-31T23:59:59.999Z","positionM":1.25}\n';
const APRIL = '{"at":"2027-04-01T00:00:00Z","positionM":1.5,"thrustKn":1}\n';

let app: TestApp;
let folder: string;
const { DATABASE_URL } = process.env;

const run = (...args: string[]): ReturnType<typeof captured> => captured('samples', ...args);
const upload = (lines: string) =>
  app.http.post(SAMPLES).set('Content-Type', 'application/x-ndjson').send(lines);
const span = { from: '2027-03-31T00:00:00Z', to: '2027-04-02T00:00:00Z' };
const RETIRED = 'the machine samples of 2027-03 are retired: no more are accepted';

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  process.env.DATABASE_URL = app.url;
  folder = mkdtempSync(path.join(tmpdir(), 'drivebook-months-'));
  for (const lines of [MARCH, APRIL]) expect((await upload(lines)).status).toBe(200);
});

afterAll(async () => {
  if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = DATABASE_URL;
  rmSync(folder, { recursive: true });
  await app.close();
});

/** In order: each continues from the state in which the one before left the month. */
describe('the samples of a month', () => {
  const archive = (): string => path.join(folder, '2027-03.csv');

  it('are listed with rows and size', async () => {
    const { status, out } = await run('months');
    expect(status).toBe(0);
    expect(out).toMatch(
      /^2027-03 {2}in the record {2}2 rows {2}[\d.]+ MB\n2027-04 {2}in the record {2}1 rows/,
    );
  });

  it('are neither archived nor dropped while they are in the record', async () => {
    for (const args of [
      ['archive', '2027-03', archive()],
      ['drop', '2027-03', '--archive', archive()],
    ])
      await expect(run(...args)).resolves.toMatchObject({
        status: 1,
        err: 'The samples of 2027-03 are in the record: detach them first.\n',
      });
    expect(existsSync(archive())).toBe(false);
  });

  it('leave the record when they are detached: readings say so, and no more are accepted', async () => {
    expect(await run('detach', '2027-03')).toMatchObject({
      status: 0,
      out: 'The samples of 2027-03 are detached.\n',
      err: '',
    });
    const page = await app.http.get(SAMPLES).query(span);
    expect([page.body.items.length, page.body.retired]).toEqual([1, '2027-03']);
    const later = await app.http.get(SAMPLES).query({ from: '2027-04-01T00:00:00Z' });
    expect([later.body.items.length, later.body.retired]).toEqual([1, null]);
    const summary = await app.http.get(`${SAMPLES}/summary`);
    expect([summary.body.count, summary.body.retired]).toEqual([1, '2027-03']);
    const late = await upload(MARCH);
    expect([late.status, late.body.detail]).toEqual([409, RETIRED]);
    const proposed = await app.http.post(SAMPLES.replace('samples', 'stroke-proposals')).send(span);
    expect([proposed.status, proposed.body.errors[0].detail]).toEqual([
      422,
      `the span from ${span.from} to ${span.to} overlaps 2027-03, whose machine samples are retired`,
    ]);
    const file = path.join(folder, 'late.ndjson');
    writeFileSync(file, MARCH);
    const command = await captured('import', 'samples', file, '--project', 'P1', '--drive', 'N');
    expect([command.status, command.err]).toEqual([1, expect.stringContaining(RETIRED)]);
  });

  it('return when they are attached', async () => {
    expect((await run('attach', '2027-03')).status).toBe(0);
    const page = await app.http.get(SAMPLES).query(span);
    expect([page.body.items.length, page.body.retired]).toEqual([2, null]);
    expect((await upload(MARCH)).body).toMatchObject({ taken: 0, known: 2 });
    expect((await run('detach', '2027-03')).status).toBe(0);
  });

  it('are archived as a table, with a count of rows and a digest beside it', async () => {
    expect(await run('drop', '2027-03', '--archive', archive())).toMatchObject({
      status: 1,
      err: 'The samples of 2027-03 are not archived: archive them first.\n',
    });
    expect((await run('archive', '2027-03', archive())).status).toBe(0);
    const text = readFileSync(archive(), 'utf8');
    expect(text.split('\n')).toEqual([
      'project,drive,at,positionM,thrustKn,torqueKnm,rotationRpm,penetrationRateMmPerMin,gripperPressureBar,muckFlowTPerH',
      'P1,N,2027-03-01T06:00:00.000Z,0.000,9000.1,,,,,',
      'P1,N,2027-03-31T23:59:59.999Z,1.250,,,,,,',
      '',
    ]);
    expect(JSON.parse(readFileSync(`${archive()}.json`, 'utf8'))).toEqual({
      month: '2027-03',
      rows: 2,
      sha256: createHash('sha256').update(text).digest('hex'),
    });
  });

  it('are dropped only with their archive, and stay retired', async () => {
    const other = path.join(folder, 'other.csv');
    writeFileSync(other, 'project,drive\n');
    const refused = await run('drop', '2027-03', '--archive', other);
    expect([refused.status, refused.err]).toEqual([
      1,
      expect.stringContaining('is not the archive of 2027-03'),
    ]);
    expect(await run('drop', '2027-03', '--archive', archive())).toMatchObject({ status: 0, err: '' });
    expect(await app.sql(`select to_regclass('machine_sample_2027_03') as there`)).toEqual([{ there: null }]);
    expect((await run('months')).out).toMatch(/^2027-03 {2}dropped {2}2 rows {2}0.0 MB {2}detached /);
    expect((await upload(MARCH)).body.detail).toBe(RETIRED);
    expect((await run('attach', '2027-03')).err).toBe(
      'The samples of 2027-03 are dropped: their archive, or the lake, has them.\n',
    );
  });
});

it.each([
  [[], 'Usage: drivebook samples [options] [command]'],
  [
    ['detach', '2027-13'],
    "error: command-argument value '2027-13' is invalid for argument 'month'. It must be a month such as 2027-03.",
  ],
  [['drop', '2027-03'], "error: required option '--archive <file>' not specified"],
  [['archive', '2027-03'], "error: missing required argument 'file'"],
  [['detach', '2027-03', 'now'], "error: too many arguments for 'detach'. Expected 1 argument but got 2."],
])('%j is not understood', async (args, message) => {
  const { status, err } = await run(...args);
  expect([status, err.split('\n')[0]]).toEqual([2, message]);
});
