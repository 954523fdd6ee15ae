import { createHash } from 'node:crypto';
import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';
import { ducked } from '../../harness/duck.js';
import { inLong } from '../../harness/sizes.js';

const SAMPLES = '/v1/projects/P1/drives/N/samples';

/** The first moments of a month, a second apart. */
const moments = (month: string, count: number): string =>
  Array.from({ length: count }, (_, s) =>
    JSON.stringify({ at: `${month}-01T00:00:0${s}Z`, positionM: s / 8, thrustKn: 9000 + s / 3 }),
  ).join('\n');

/** The month a number of months before this one, in UTC. */
const before = (count: number): string => {
  const now = new Date();
  return new Date(Date.UTC(now.getUTCFullYear(), now.getUTCMonth() - count, 1)).toISOString().slice(0, 7);
};

const OLD = '2020-03';
const OLDER = '2020-02';
const KEPT = before(2);

let app: TestApp;
let folder: string;
let lake: string;
const { DATABASE_URL } = process.env;

const run = (...args: string[]): ReturnType<typeof captured> => captured('samples', ...args);
const upload = (lines: string) =>
  app.http.post(SAMPLES).set('Content-Type', 'application/x-ndjson').send(`${lines}\n`);
const fileOf = (month: string): string =>
  path.join(lake, `machine_sample/project=P1/drive=N/month=${month}/data.parquet`);
const exported = async (): Promise<void> => {
  const { status, err } = await captured('lake', 'export', lake);
  if (status !== 0) throw new Error(err);
};
const states = async (): Promise<Record<string, string>> =>
  Object.fromEntries(
    (JSON.parse((await run('months', '--json')).out) as { month: string; state: string }[]).map(
      ({ month, state }) => [month.slice(0, 7), state],
    ),
  );

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  process.env.DATABASE_URL = app.url;
  folder = mkdtempSync(path.join(tmpdir(), 'drivebook-moved-'));
  lake = path.join(folder, 'lake');
  for (const month of [OLDER, OLD, KEPT]) expect((await upload(moments(month, 4))).status).toBe(200);
});

afterAll(async () => {
  if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = DATABASE_URL;
  rmSync(folder, { recursive: true });
  await app.close();
});

/** In order: each continues from the state in which the one before left the months. */
describe('old months of samples', () => {
  const AS_THEY_WERE = { [OLDER]: 'in the record', [OLD]: 'in the record', [KEPT]: 'in the record' };

  it('stay while there is no lake, or its export was cut short', async () => {
    mkdirSync(lake);
    const none = await run('move', lake, '--keep', '2');
    expect([none.status, none.err]).toEqual([1, expect.stringContaining('has no manifest.json')]);
    await exported();
    mkdirSync(path.join(lake, '_unfinished'));
    expect(await run('move', lake, '--keep', '2')).toMatchObject({ status: 1 });
    await exported();
    expect(await states()).toEqual(AS_THEY_WERE);
  });

  it('stay when the lake has fewer samples of them, another file, or none', async () => {
    expect((await upload('{"at":"2020-02-03T00:00:00Z","positionM":5}')).status).toBe(200);
    const fewer = await run('move', lake, '--keep', '2');
    expect([fewer.status, fewer.err]).toEqual([
      1,
      `machine_sample/project=P1/drive=N/month=${OLDER}/data.parquet does not hold the samples of the record: export the lake again.\n`,
    ]);
    await exported();
    appendFileSync(fileOf(OLDER), 'x');
    expect((await run('move', lake, '--keep', '2')).status).toBe(1);
    rmSync(fileOf(OLDER));
    expect((await run('move', lake, '--keep', '2')).status).toBe(1);
    await exported();
    expect(await states()).toEqual(AS_THEY_WERE);
  });

  it('leave PostgreSQL when the lake has them all, detached ones too; months to be kept stay', async () => {
    expect((await run('detach', OLD)).status).toBe(0);
    const { status, out } = await run('move', lake, '--keep', '2', '--json');
    const digest = (month: string): string =>
      createHash('sha256')
        .update(
          `${createHash('sha256')
            .update(readFileSync(fileOf(month)))
            .digest('hex')}  machine_sample/project=P1/drive=N/month=${month}/data.parquet\n`,
        )
        .digest('hex');
    expect([status, JSON.parse(out)]).toEqual([
      0,
      {
        lake,
        moved: [
          { month: OLDER, rows: 5, sha256: digest(OLDER) },
          { month: OLD, rows: 4, sha256: digest(OLD) },
        ],
      },
    ]);
    expect(await states()).toEqual({ [OLDER]: 'dropped', [OLD]: 'dropped', [KEPT]: 'in the record' });
    expect(await app.sql(`select count(*)::int as n from machine_sample`)).toEqual([{ n: 4 }]);
  });

  it('are reported as retired by readings and uploads, and can be read in the lake', async () => {
    const page = await app.http.get(SAMPLES).query({ from: '2020-01-01T00:00:00Z' });
    expect([page.body.items.length, page.body.retired]).toEqual([4, `${OLDER}, ${OLD}`]);
    expect((await upload(moments(OLD, 1))).status).toBe(409);
    await exported(); // which keeps what the database no longer has
    expect(
      await ducked(
        `select month, count(*)::int as n, max(thrust_kn) as most from read_parquet('${lake}/machine_sample/**/*.parquet', hive_partitioning = true, hive_types_autocast = false)
         where project = 'P1' group by 1 order by 1`,
      ),
    ).toEqual([
      { month: OLDER, n: 5, most: 9001 },
      { month: OLD, n: 4, most: 9001 },
      { month: KEPT, n: 4, most: 9001 },
    ]);
    expect((await run('move', lake, '--keep', '2')).out).toMatch(/^There are no samples from before /);
  });

  inLong(() => {
    const handover = (name: string, ...more: string[]): ReturnType<typeof captured> =>
      captured('handover', path.join(folder, name), '--project', 'P1', '--json', ...more);
    const packed = (name: string, month: string): string =>
      path.join(folder, name, `samples/N/${month}.parquet`);

    it('are in a handover package from the lake, or named as missing', async () => {
      const [without, whole] = [await handover('without'), await handover('whole', '--lake', lake)];
      expect([without.status, JSON.parse(without.out)]).toMatchObject([0, { missingSamples: [OLDER, OLD] }]);
      expect(readFileSync(path.join(folder, 'without/README.txt'), 'utf8')).toContain(
        `taken out of the record before: ${OLDER}, ${OLD}\r\n`,
      );
      expect([whole.status, JSON.parse(whole.out)]).toMatchObject([0, { missingSamples: [] }]);
      expect(readFileSync(path.join(folder, 'whole/README.txt'), 'utf8')).not.toContain(
        'taken out of the record',
      );
      for (const month of [OLDER, OLD, KEPT])
        expect(readFileSync(packed('whole', month)).equals(readFileSync(fileOf(month)))).toBe(true);
      expect([OLDER, OLD, KEPT].filter((month) => existsSync(packed('without', month)))).toEqual([KEPT]);
      expect(readFileSync(path.join(folder, 'whole/samples/dictionary.md'), 'utf8')).toContain(
        '| torque_knm | DOUBLE | Cutterhead torque. [kNm] |',
      );
    });

    it('are in no package when a file of the lake differs from its manifest', async () => {
      appendFileSync(fileOf(OLD), 'x');
      const { status, err } = await handover('broken', '--lake', lake);
      expect([status, err]).toEqual([
        1,
        expect.stringContaining(`machine_sample/project=P1/drive=N/month=${OLD}/data.parquet in `),
      ]);
      expect(readdirSync(folder).filter((name) => name.startsWith('broken'))).toEqual([]);
    });
  });
});

it.each(['0', '121', 'all'])('--keep %s is refused', async (keep) => {
  const { status, err } = await run('move', lake, '--keep', keep);
  expect([status, err.split('\n')[0]]).toEqual([
    2,
    `error: option '--keep <months>' argument '${keep}' is invalid. It must be a number of months from 1 to 120.`,
  ]);
});
