import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A stroke of 2 m at 0.5 m³/m demands 1 m³, of which 10 %, 0.1 m³, may be missing: a shortfall of exactly that is within the tolerance. In ground B it demands
// 10 bolts, at 5 per metre, of which 10 %, one bolt, may be missing. By hand.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const { status } = await app.http.put('/v1/projects/P1/ground-classes/A/standard-support').send({
    edition: 'contract, table 3',
    items: [{ item: 'SPRAY', zone: 'L1', quantityPerM: '0.5', tolerancePercent: '10' }],
  });
  expect(status).toBe(201);
  const bolts = await app.http.put('/v1/projects/P1/ground-classes/B/standard-support').send({
    edition: 'contract, table 3',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '5', tolerancePercent: '10' }],
  });
  expect(bolts.status).toBe(201);
});

afterAll(() => app.close());

/** What is missing in a stroke of 2 m in a ground class with this much of an item. */
const missingOf = async (drive: string, ground: string, item: string, quantity: number) => {
  await aDrive(app, { drive });
  const shift = aShift()
    .withStroke(1, '1+200', '1+202', '06:00', '08:00')
    .withGround(ground, '1+200', '1+202')
    .withSupport(item, '1+200', '1+202', String(quantity));
  const url = `/v1/projects/P1/drives/${drive}`;
  expect((await app.http.put(`${url}/shifts/2027-03-01/day`).send(shift.build())).status).toBe(201);
  await app.http.put(`${url}/support-limits`).send({ limits: [{ zone: 'L1', limitM: '0' }] });
  const { body } = await app.http.get(`${url}/missing-support?lengthM=10`);
  return body.items;
};

it.each([
  ['T1', 0.9, 0.1, 0, 'within_tolerance'],
  ['T2', 0.899, 0.101, 0.101, 'missing'],
  ['T3', 1, 0, 0, 'complete'],
])('on drive %s %d m³ are %d m³ short: %d m³ missing, %s', async (drive, quantity, short, missing, state) => {
  const items = await missingOf(drive, 'A', 'SPRAY', quantity);
  expect(items).toMatchObject([{ required: '1.000', tolerated: '0.100', state }]);
  expect([Number(items[0].missingRaw), Number(items[0].missing)]).toEqual([short, missing]);
});

it.each([
  ['B1', 9, '1.000', '0.000', 'within_tolerance'],
  ['B2', 8, '2.000', '2.000', 'missing'],
])('on drive %s %d bolts are %s short: %s missing, %s', async (drive, quantity, short, missing, state) => {
  expect(await missingOf(drive, 'B', 'BOLT', quantity)).toMatchObject([
    { required: '10.000', tolerated: '1.000', missingRaw: short, missing, state },
  ]);
});
