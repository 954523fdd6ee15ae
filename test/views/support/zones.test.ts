import { ruleFaults } from '../../../src/features/payment/measurement/rule-faults.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Zones are data of the project; a new project has L1 and L2.

const P = '/v1/projects/P1';
const L3 = { name: 'Invert works', fromBehindM: '40', toBehindM: '60' };

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const codes = async (): Promise<string[]> =>
  (await app.http.get(`${P}/zones`)).body.map(({ code }: { code: string }) => code);

it('a project begins with L1 and L2, and may have others', async () => {
  expect(await codes()).toEqual(['L1', 'L2']);
  const { status, body } = await app.http.put(`${P}/zones/L3`).send(L3);
  expect([status, body]).toEqual([
    201,
    { code: 'L3', name: 'Invert works', fromBehindM: '40.000', toBehindM: '60.000' },
  ]);
  const query = `{ project(project: "P1") { zones { code toBehindM } } }`;
  const { body: answer } = await app.http.post('/graphql').send({ query });
  // From the face backwards, those without a place last.
  expect(answer.data.project.zones).toEqual([
    { code: 'L3', toBehindM: '60.000' },
    { code: 'L1', toBehindM: null },
    { code: 'L2', toBehindM: null },
  ]);
  const turned = await app.http.put(`${P}/zones/L4`).send({ ...L3, toBehindM: '30' });
  expect([turned.status, turned.body.errors[0].detail]).toEqual([
    422,
    'toBehindM 30 must be above fromBehindM 40',
  ]);
});

it('a shift names zones of its project only', async () => {
  const sent = (zone: string) =>
    app.http
      .put(`${P}/drives/N/shifts/2027-03-01/day`)
      .send(aShift().withSupport('BOLT', '1+200', '1+202', '4', { zone }).build());
  const { status, body } = await sent('L9');
  expect([status, body.errors]).toEqual([
    422,
    [
      expect.objectContaining({
        pointer: '/support/0/zone',
        value: 'L9',
        detail: 'zone L9 is not in the project: its zones are L1, L2, L3',
      }),
    ],
  ]);
  expect((await sent('L3')).status).toBe(201);
  const read = await app.http.get(`${P}/drives/N/shifts/2027-03-01/day`);
  expect(read.body.support[0].zone).toBe('L3');
  expect(await app.sql(`select zone, quantity::text from report.support_total`)).toEqual([
    { zone: 'L3', quantity: '4.000' },
  ]);
});

it('requirements, limits and measurement rules name them too', async () => {
  const detail = 'zone L9 is not in the project: its zones are L1, L2, L3';
  const item = { item: 'BOLT', zone: 'L9', quantityPerM: '1' };
  const standard = await app.http
    .put(`${P}/ground-classes/A/standard-support`)
    .send({ edition: 'A', items: [item] });
  expect(standard.body.errors).toContainEqual(expect.objectContaining({ pointer: '/items/0/zone', detail }));
  const limits = await app.http
    .put(`${P}/drives/N/support-limits`)
    .send({ limits: [{ zone: 'L9', limitM: '4' }] });
  expect(limits.body.errors).toContainEqual(expect.objectContaining({ pointer: '/limits/0/zone', detail }));
  const faults = ruleFaults(
    { source: 'support', dimension: 'count', zones: ['L1', 'L9'] },
    { unit: 'nr', items: [], zones: ['L1', 'L2', 'L3'], classes: [], activities: [] },
  );
  expect(faults).toEqual([{ in: 'body', pointer: '/zones/1', value: 'L9', detail }]);
});

it('the end of a zone is the limit of a drive that has none of its own', async () => {
  await aDrive(app, { drive: 'Z' });
  const limits = () =>
    app.sql(
      `select l.zone, l.limit_mm from drive d cross join lateral report.support_limit_along(d.id) l where d.code = 'Z' order by l.zone`,
    );
  expect(await limits()).toEqual([
    { zone: 'L1', limit_mm: null },
    { zone: 'L2', limit_mm: null },
    { zone: 'L3', limit_mm: 60_000 },
  ]);
  await app.http
    .put(`${P}/drives/Z/support-limits`)
    .send({ limits: [{ zone: 'L3', limitM: '15' }] })
    .expect(200);
  expect(await limits()).toContainEqual({ zone: 'L3', limit_mm: 15_000 });
});

it('a zone can be removed only while nothing names it', async () => {
  const { status, body } = await app.http.delete(`${P}/zones/L3`);
  expect([status, body.detail]).toEqual([
    409,
    'zone L3 cannot be removed: it is used by installed support, the limits of a drive',
  ]);
  const query = `mutation { putZone(project: "P1", code: "L5", input: { name: "Portal" }) { code } removeZone(project: "P1", code: "L5") }`;
  const { body: answer } = await app.http.post('/graphql').send({ query });
  expect(answer.data).toEqual({ putZone: { code: 'L5' }, removeZone: true });
  expect(await codes()).toEqual(['L3', 'L1', 'L2']);
  await app.http.delete(`${P}/zones/L5`).expect(404);
});
