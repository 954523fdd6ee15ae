import { aProject } from '../builders/project.js';
import { LOG, putLog, Q_INPUT, RMR_INPUT, URL } from '../ground/ground-logs/logs.js';
import { startApp, type TestApp } from '../harness/app.js';
import { captured } from '../harness/captured-command.js';

// Values stored with a record equal those that a rebuild computes, and a rebuild repairs corrupted values.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const rebuilt = async (): Promise<string> => {
  process.env['DATABASE_URL'] = app.url;
  return (await captured('recompute')).out;
};

const stored = (table: string) => app.sql(`select to_jsonb(t) as row from ${table} t order by name`);

const put = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(`${URL}${path}`).send(body);
  if (status >= 300) throw new Error(text);
};

it('of ground logs', async () => {
  const range = { rqdMinPercent: 60, jnMax: { row: 'G' } };
  const srf = {
    row: 'E',
    adjustment: { name: 'zone_influences_only', percent: 40, note: 'left of the wall' },
  };
  const jointOrientation = { dipDeg: 60, dipDirectionDeg: 270, driveAzimuthDeg: 90 };
  const q = { ...Q_INPUT, edition: 'q-2013.2', srf, range };
  await putLog(app, 'A', { ...LOG, jointOrientation, q, rmr: RMR_INPUT });
  await putLog(app, 'B', {
    ...LOG,
    from: '1+230',
    to: '1+240',
    rqdPercent: 4,
    q: { ...Q_INPUT, location: 'portal' },
  });
  await putLog(app, 'C', { ...LOG, from: '1+250', to: '1+260' });
  const before = await stored('ground_log_sheet');
  const none =
    '0 borings, 0 ground logs, 0 discontinuities, 0 items of overbreak and 0 water tests changed.\n';
  expect(await rebuilt()).toBe(none);
  await app.sql(`update ground_log_sheet set q = q + 1, q_class = 'x', rmr = rmr + 1, rmr_rqd_rating = rmr_rqd_rating + 1,
    rmr_class = 'X', strength_class = null, q_lowest = q_lowest / 2, q_highest = q_highest * 2, q_lowest_of = '{}', q_srf_counted = 1,
    orientation_proposal = null where name = 'A'`);
  expect(await rebuilt()).toBe(none.replace('0 ground logs', '1 ground logs'));
  expect(await stored('ground_log_sheet')).toEqual(before);
});

it('of discontinuities', async () => {
  const planes = [
    [0, 0],
    [90, 12.34],
    [90, 180],
    [33.33, 300],
    [60, 359.99],
  ];
  for (const [index, [dipDeg, dipDirectionDeg]] of planes.entries())
    await put(`/discontinuities/D${index}`, { chainage: '1+205', type: 'joint', dipDeg, dipDirectionDeg });
  const before = await stored('discontinuity');
  expect(await rebuilt()).toMatch(/ 0 discontinuities,/);
  await app.sql(
    `update discontinuity set pole_east = pole_north, pole_north = pole_east where name in ('D1', 'D4')`,
  );
  expect(await rebuilt()).toMatch(/ 2 discontinuities,/);
  expect(await stored('discontinuity')).toEqual(before);
});

it('of overbreak, except surveyed volumes', async () => {
  const item = { from: '1+203', to: '1+213.5', cause: 'geological' };
  await put('/overbreak/A', { ...item, areaM2: '1.250' });
  await put('/overbreak/B', { ...item, cause: 'operational', areaM2: '1.250', volumeM3: '2' });
  await put('/overbreak/C', { ...item, from: '1+220', to: '1+220.005', areaM2: '0.5' }); // 0.0025 is rounded up
  const before = await stored('overbreak_item');
  expect(await rebuilt()).toMatch(/ 0 items of overbreak /);
  // the database does not allow it to be corrupted
  await app.sql('alter table overbreak_item drop constraint overbreak_item_volume');
  await app.sql('update overbreak_item set volume_m3 = volume_m3 + 1 where not volume_surveyed');
  expect(await rebuilt()).toMatch(/ 2 items of overbreak /);
  expect(await stored('overbreak_item')).toEqual(before);
});

it('of water tests, with their steps', async () => {
  const steps = [2, 4, 6, 4, 2].map((bar, at) => ({
    gaugeBar: String(bar),
    flowLPerMin: String([3, 6, 14, 7, 3][at]),
    durationMin: '10',
  }));
  const test = { hole: 'H', fromDepthM: '10', toDepthM: '13', testedAt: '2027-03-01T08:00:00Z' };
  await put('/water-tests/A', { ...test, holeDiameterMm: '76', staticBar: '0.5', steps });
  await put('/water-tests/B', { ...test, steps: steps.slice(0, 1) });
  const all = async (): Promise<unknown> => [
    await stored('lugeon_test'),
    await app.sql('select to_jsonb(s) as row from lugeon_step s order by lugeon_test_id, number'),
  ];
  const before = await all();
  expect(await rebuilt()).toMatch(/ 0 water tests /);
  await app.sql(
    `update lugeon_test set representative_lu = 1, lugeon_class = 'low', flow_pattern = null, moye_m_per_s = 1 where name = 'A'`,
  );
  await app.sql(`update lugeon_step set lugeon = 1, net_bar = 1 where number = 1`);
  expect(await rebuilt()).toMatch(/ 2 water tests /);
  expect(await all()).toEqual(before);
});
