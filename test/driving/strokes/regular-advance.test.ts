import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A stroke is regular by its own ratio, the mean by length over its borings, and the share of metres counts metres. By hand, with the
// theoretical torque of the first stroke of the open table (Erharter et al., doi 10.1007/s00603-025-04542-4), 3313.984580381505 kNm:
// 1.2 m at a ratio of 0.6, beyond the bound of 0.57, and 0.8 m at 0.4 → (0.6 · 1.2 + 0.4 · 0.8) / 2.0 = 0.52, regular; 0.8 of 2.0 m.
// Then a stroke of 2.0 m at 0.6: exceptional. Strokes 1 of 2, metres 0.8 of 4.0.

let app: TestApp;

const url = '/v1/projects/P1/drives/N';

const reading = (ratio: number): object => ({
  thrustKn: 10_360.8198127451,
  torqueKnm: ratio * 3313.984580381505,
  rotationRpm: 6,
  penetrationMmPerRev: 9.809251050420169,
});

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const machine = {
    name: 'A',
    discCount: 50,
    discRadiusMm: '241.3',
    idleTorqueKnm: '180',
    torqueRatioLower: '0.35',
    torqueRatioUpper: '0.57',
  };
  expect((await app.http.put('/v1/projects/P1/machines/M1').send(machine)).status).toBeLessThan(300);
  const shifts = [
    aShift('2027-03-01').withStroke(1, '1+200', '1+201.2', '06:00', '07:00', reading(0.6)),
    aShift('2027-03-02')
      .withStroke(1, '1+201.2', '1+202', '06:00', '07:00', reading(0.4))
      .withStroke(2, '1+202', '1+204', '08:00', '09:00', reading(0.6)),
  ];
  for (const shift of shifts) {
    const { status, text } = await app.http.put(`${url}/shifts/${shift.date}/day`).send(shift.build());
    expect([status, text]).toEqual([201, expect.anything()]);
  }
});

afterAll(() => app.close());

it('follows from the mean ratio of the stroke, by the list, the as-built record and the view', async () => {
  const { items } = (await app.http.get(`${url}/strokes`)).body as {
    items: { torqueRatio: number; regularAdvance: boolean }[];
  };
  expect(items.map(({ regularAdvance }) => regularAdvance)).toEqual([true, false]);
  expect(items.map(({ torqueRatio }) => torqueRatio)).toEqual([
    expect.closeTo(0.52, 9),
    expect.closeTo(0.6, 9),
  ]);
  const { body } = await app.http.get(`${url}/as-built?from=1%2B200&to=1%2B204`);
  expect((body.strokes as { regularAdvance: boolean }[]).map((stroke) => stroke.regularAdvance)).toEqual([
    true,
    false,
  ]);
  expect(
    await app.sql(
      'select regular_advance, regular_m::text, judged_m::text from report.stroke order by stroke_number',
    ),
  ).toEqual([
    { regular_advance: true, regular_m: '0.800', judged_m: '2.000' },
    { regular_advance: false, regular_m: '0.000', judged_m: '2.000' },
  ]);
});

it('has a share of strokes and a share of metres', async () => {
  const { body } = await app.http.get(`${url}/strokes/statistics`);
  const list = (Array.isArray(body) ? body : body.items) as { quantity: string }[];
  expect(list.find(({ quantity }) => quantity === 'regular_advance')).toMatchObject({
    strokeCount: 2,
    mean: 0.5,
    lengthWeightedMean: expect.closeTo(0.2, 12),
  });
});

it('follows the bounds in force when the stroke began', async () => {
  // from 2 March up to 0.5 only: stroke 1 began on the 1st under 0.57, so its 0.52 stays regular
  await app.sql(`begin; set local session_replication_role = replica;
    insert into machine_revision (project_id, machine_id, valid_from, revision, disc_count, disc_radius_mm, idle_torque_knm, torque_ratio_lower, torque_ratio_upper)
      select project_id, id, '2027-03-02', 'r', disc_count, disc_radius_mm, idle_torque_knm, torque_ratio_lower, 0.5 from machine where code = 'M1';
    commit`);
  expect(await app.sql('select regular_advance from report.stroke where stroke_number = 1')).toEqual([
    { regular_advance: true },
  ]);
  await app.sql(`begin; set local session_replication_role = replica;
    update machine_revision set valid_from = '2027-03-01'; commit`);
  expect(await app.sql('select regular_advance from report.stroke where stroke_number = 1')).toEqual([
    { regular_advance: false },
  ]);
});

it('counts a stroke that two shifts bored for both of them in the as-built record', async () => {
  const both = [
    { date: '2027-03-01', shift: 'day' },
    { date: '2027-03-02', shift: 'day' },
  ];
  const { body } = await app.http.get(`${url}/as-built?from=1%2B200&to=1%2B204`);
  expect(body.strokes).toMatchObject([
    { number: 1, date: '2027-03-02', shift: 'day', shifts: both },
    { number: 2, shifts: both.slice(1) },
  ]);
  const query = `{ drive(project: "P1", drive: "N") { asBuilt(from: "1+200", to: "1+204") { strokes { number shifts { date shift } } } } }`;
  const { body: graph } = await app.http.post('/graphql').send({ query });
  expect(graph.data.drive.asBuilt.strokes).toEqual([
    { number: 1, shifts: both },
    { number: 2, shifts: both.slice(1) },
  ]);
  expect(
    await app.sql(
      `select shifts from report.as_built('P1', 'N', 1200, 1204) where record = 'stroke' order by from_m`,
    ),
  ).toEqual([{ shifts: both }, { shifts: both.slice(1) }]);
});
