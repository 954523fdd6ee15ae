import type { MachineSample } from '../../../src/engineering/sample-means.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { sampled, type Phase, randomFrom } from '../../engineering/sampled-drive.js';
import { csv, upload } from '../../driving/strokes/tables.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { asUploaded, uploadLines } from '../../driving/samples/samples.js';

// Expected values: a naive second implementation, sample by sample, over the samples sent.

let app: TestApp;
let samples: MachineSample[];

const at = (time: string): number => Date.parse(`2027-03-01T${time}:00Z`);

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'S' });
  const bore = (s: number): Phase => ({ kind: 'bore', s, rateMmPerMin: 40, thrustKn: 9000 });
  const seen = {
    intervalS: 10,
    positionNoiseMm: 0,
    readingNoise: 0.1,
    lostPerMille: 50,
    hasGrippers: true,
    random: randomFrom(7),
  };
  samples = sampled(
    [bore(1200), { kind: 'pause', s: 600 }, bore(1200), { kind: 'regrip', s: 300 }, bore(1800)],
    seen,
  );
  samples = samples.map((sample, index) => (index % 7 === 0 ? { ...sample, torqueKnm: null } : sample));
  await uploadLines(app, samples.map(asUploaded));
  await uploadLines(app, samples.map(asUploaded), '/v1/projects/P1/drives/S/samples');
  const shift = aShift()
    .withStroke(1, '1+200', '1+200.8', '06:00', '06:20')
    .withStroke(1, '1+200.8', '1+201.6', '06:30', '06:50')
    .withStroke(2, '1+201.6', '1+202.8', '06:55', '07:25')
    .withStroke(3, '1+202.8', '1+203', '12:00', '12:05')
    .build();
  expect((await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift)).status).toBe(201);
  expect((await upload(app, { file: csv(['4,3,4.7,9000']) })).status).toBe(200); // without times
});

afterAll(() => app.close());

type Reading = 'thrustKn' | 'torqueKnm' | 'penetrationRateMmPerMin';

const naive = (times: [string, string][]) => {
  const own = samples.filter(({ atMs }) => times.some(([from, to]) => atMs >= at(from) && atMs < at(to)));
  const figures = (reading: Reading): [unknown, unknown] => {
    const known = own.map((sample) => sample[reading]).filter((value) => value !== null);
    if (known.length === 0) return [null, null];
    const sum = known.reduce((total, value) => total + value, 0);
    return [expect.closeTo(sum / known.length, 6), Math.max(...known)];
  };
  const [meanThrust, maxThrust] = figures('thrustKn');
  const [meanTorque, maxTorque] = figures('torqueKnm');
  const [meanRate, maxRate] = figures('penetrationRateMmPerMin');
  return {
    sample_count: own.length,
    first_at: own[0] ? new Date(own[0].atMs) : null,
    last_at: own.at(-1) ? new Date(own.at(-1)?.atMs ?? 0) : null,
    mean_thrust_kn: meanThrust,
    max_thrust_kn: maxThrust,
    mean_torque_knm: meanTorque,
    max_torque_knm: maxTorque,
    mean_penetration_rate_mm_per_min: meanRate,
    max_penetration_rate_mm_per_min: maxRate,
  };
};

it('report.stroke_samples has, for each stroke, the figures from the samples of its borings', async () => {
  const rows = await app.sql(
    `select * from report.stroke_samples where drive_code = 'N' order by stroke_number`,
  );
  const place = { project_code: 'P1', drive_code: 'N', drive_id: expect.any(Number) };
  const expected = [
    naive([
      ['06:00', '06:20'],
      ['06:30', '06:50'],
    ]),
    naive([['06:55', '07:25']]),
    naive([]),
    naive([]),
  ];
  expect(expected[0]?.sample_count).toBeGreaterThan(200);
  expect(rows).toEqual(
    expected.map((figures, index) => ({ ...place, stroke_number: index + 1, ...figures })),
  );
});

it('report.sample_day counts them by production day, of each drive', async () => {
  const rows = await app.sql(
    `select drive_code, production_day::text, sample_count from report.sample_day order by 1, 2`,
  );
  // the production day begins at 06:00, two minutes after the first sample
  const early = samples.filter(({ atMs }) => atMs < at('06:00')).length;
  expect(rows).toEqual(
    ['N', 'S'].flatMap((drive_code) => [
      { drive_code, production_day: '2027-02-28', sample_count: early },
      { drive_code, production_day: '2027-03-01', sample_count: samples.length - early },
    ]),
  );
});

it('it reads, under row-level security too, only samples within the strokes’ times, by their key', async () => {
  await app.sql(`select make_sample_month('2027-02-01')`);
  await app.sql(`insert into machine_sample (drive_id, project_id, at, position_m)
    select id, project_id, timestamptz '2027-02-01' + i * interval '1 min', 0 from drive, generate_series(0, 60000) i where code = 'S'`);
  await app.sql('analyze machine_sample');
  const [drive] = await app.sql<{ id: number; project: number }>(
    `select id, project_id as project from drive where code = 'N'`,
  );
  const service = await serviceSession(app.url);
  const explain = `explain (analyze, costs off, timing off, summary off, buffers off) select * from stroke_samples where drive_id = ${drive?.id}`;
  const plan = await takenBack(service, drive?.project, () =>
    rowsOf<Record<string, string>>(service, explain),
  );
  await service.end();
  const text = plan.map((line) => line['QUERY PLAN']).join('\n');
  expect(text).toMatch(/Scan using machine_sample_2027_03_pkey .*rows=100/); // those of a boring, out of some 2,000
  expect(text).not.toMatch(/Seq Scan on machine_sample/);
  expect(text).toMatch(/machine_sample_2027_02.*\(never executed\)/);
});
