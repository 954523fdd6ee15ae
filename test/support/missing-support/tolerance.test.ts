import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A stroke of 2 m at 0.5 m³/m demands 1 m³, of which 10 %, 0.1 m³, may lack: a shortfall of just that is within the tolerance. By hand.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const { status } = await app.http.put('/v1/projects/P1/ground-classes/A/standard-support').send({
    edition: 'contract, table 3',
    items: [{ item: 'SPRAY', zone: 'L1', quantityPerM: '0.5', tolerancePercent: '10' }],
  });
  expect(status).toBe(201);
});

afterAll(() => app.close());

it.each([
  ['T1', 0.9, 0.1, 0, 'within_tolerance'],
  ['T2', 0.899, 0.101, 0.101, 'missing'],
  ['T3', 1, 0, 0, 'complete'],
])('on drive %s %d m³ are %d m³ short: %d m³ missing, %s', async (drive, quantity, short, missing, state) => {
  await aDrive(app, { drive });
  const shift = aShift()
    .withStroke(1, '1+200', '1+202', '06:00', '08:00')
    .withGround('A', '1+200', '1+202')
    .withSupport('SPRAY', '1+200', '1+202', String(quantity));
  const url = `/v1/projects/P1/drives/${drive}`;
  expect((await app.http.put(`${url}/shifts/2027-03-01/day`).send(shift.build())).status).toBe(201);
  await app.http.put(`${url}/support-limits`).send({ limits: [{ zone: 'L1', limitM: '0' }] });
  const { body } = await app.http.get(`${url}/missing-support?lengthM=10`);
  expect(body.items).toMatchObject([{ required: '1.000', tolerated: '0.100', state }]);
  expect([Number(body.items[0].missingRaw), Number(body.items[0].missing)]).toEqual([short, missing]);
});
