import { createHash } from 'node:crypto';
import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { idleDay } from '../builders/days.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type ShiftApi, shiftsByGraphql, shiftsByRest } from '../harness/shift-apis.js';

// Equipment of activities, in the lists of the project and in the shift document.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  for (const [code, description] of [
    ['BELT', 'Main belt'],
    ['HEAD', 'Cutterhead'],
  ])
    expect((await app.http.put(`/v1/projects/P1/equipment/${code}`).send({ description })).body).toEqual({
      code,
      description,
      inUseDuring: ['boring'],
    });
});

afterAll(() => app.close());

const LIFT = 'equipment LIFT is not in the project: its equipment is BELT, HEAD, TRAIN';

const naming = (date: string, equipment: unknown): ShiftDocument => {
  const document = aShift(date)
    .withActivity('MAINT', '06:00', '07:00')
    .withActivity('MAINT', '07:00', '08:00')
    .build();
  Object.assign(document.activities[1] ?? {}, { equipment });
  return document;
};

const named = ({ activities }: ShiftDocument): unknown[] => activities.map(({ equipment }) => equipment);

const stored = async (date: string): Promise<{ digest: string; codes: unknown[] }> => {
  const [row] = await app.sql<{ digest: string; codes: unknown[] }>(
    `select s.digest, array_agg(q.code order by a.started_at) as codes from shift s join activity a on a.shift_id = s.id
      left join equipment q on q.id = a.equipment_id where s.shift_date = $1 group by s.id`,
    [date],
  );
  if (!row) throw new Error(date);
  return row;
};

describe('the list of equipment', () => {
  it('is read and put by both APIs', async () => {
    const put = `mutation { putEquipment(project: "P1", code: "TRAIN", input: { description: "Muck train" }) { code description } }`;
    const { body } = await app.http.post('/graphql').send({ query: put });
    expect(body.data.putEquipment).toEqual({ code: 'TRAIN', description: 'Muck train' });
    const list = (await app.http.get('/v1/projects/P1/equipment')).body as { code: string }[];
    expect(list.map(({ code }) => code)).toEqual(['BELT', 'HEAD', 'TRAIN']);
    const query = '{ project(project: "P1") { equipment { code description inUseDuring } } }';
    expect((await app.http.post('/graphql').send({ query })).body.data.project.equipment).toEqual(list);
  });

  it.each([
    ['/equipment/A%20B', { description: 'x' }, '/code', /1 to 40 letters/],
    ['/equipment/A', {}, '/description', /description is missing/],
    ['/equipment/A', { description: 'x', kind: 'belt' }, '/kind', /should not exist/],
  ])('refuses PUT %s of %j', async (path, body, pointer, detail) => {
    const before = await app.contents();
    const answer = await app.http.put(`/v1/projects/P1${path}`).send(body);
    expect([answer.status, answer.body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })],
    ]);
    expect(await app.contents()).toBe(before);
  });
});

describe.each([
  ['REST', shiftsByRest, '2027-05-0'],
  ['GraphQL', shiftsByGraphql, '2027-06-0'],
])('a shift document by %s', (_, apiOf, month) => {
  let api: ShiftApi;
  beforeAll(() => {
    api = apiOf(app, 'P1', () => ({}));
  });

  it('keeps the equipment that its activities name', async () => {
    const date = `${month}1`;
    expect(await api.put('me', date, naming(date, 'BELT'))).toMatchObject({ outcome: 'created' });
    expect((await stored(date)).codes).toEqual([null, 'BELT']);
    const { document, etag } = await api.get('me', date);
    expect(document && named(document)).toEqual([null, 'BELT']);
    expect(await api.put('me', date, document ?? {})).toMatchObject({ outcome: 'unchanged', etag });
  });

  it('gets another tag when other equipment is named, or none', async () => {
    const date = `${month}2`;
    const { etag: belt } = await api.put('me', date, naming(date, 'BELT'));
    const { etag: head } = await api.put('me', date, naming(date, 'HEAD'), belt);
    const { etag: none } = await api.put('me', date, naming(date, null), head);
    expect(new Set([belt, head, none]).size).toBe(3);
    expect((await stored(date)).codes).toEqual([null, null]);
    expect(await api.put('me', date, naming(date, undefined))).toMatchObject({
      outcome: 'unchanged',
      etag: none,
    });
  });

  it('with unknown equipment is refused whole', async () => {
    const before = await app.contents();
    const refused = await api.put('me', `${month}3`, naming(`${month}3`, 'LIFT'));
    expect(refused).toMatchObject({ status: 422, detail: LIFT });
    expect(await app.contents()).toBe(before);
  });

  it('stored before equipment existed is unchanged', async () => {
    const date = `${month}4`;
    // The canonical form of that time, written out: 06:00 to 18:00 of maintenance.
    const [from, to] = [Date.parse(`${date}T06:00:00Z`), Date.parse(`${date}T18:00:00Z`)];
    const canonical =
      `{"state":"submitted","startsAt":${from},"endsAt":${to},"crewLead":null,"remark":null,"borings":[],` +
      `"activities":[{"startedAt":${from},"endedAt":${to},"code":"MAINT","responsibleParty":null,"remark":null}],"support":[],"ground":[]}`;
    const digest = createHash('sha256').update(canonical).digest('hex');
    await api.put('me', date, idleDay(date));
    expect((await stored(date)).digest).toBe(digest);
    const again = await api.put('me', date, idleDay(date));
    expect(again).toMatchObject({ outcome: 'unchanged', etag: `"${digest.slice(0, 32)}"` });
  });
});

it.each([
  ['LIFT', LIFT],
  ['constructor', LIFT.replace('LIFT', 'constructor')],
  ['A B', 'equipment must be 1 to 40 letters, digits, dots, hyphens or underscores'],
  [7, 'equipment must be 1 to 40 letters, digits, dots, hyphens or underscores'],
])('equipment %j is reported at its place', async (equipment, detail) => {
  const url = '/v1/projects/P1/drives/N/shifts/2027-07-01/day';
  const { status, body } = await app.http.put(url).send(naming('2027-07-01', equipment));
  expect([status, body.errors]).toEqual([
    422,
    [{ in: 'body', pointer: '/activities/1/equipment', value: equipment, detail }],
  ]);
});

it('is in the versions of a shift and in readings as of a moment', async () => {
  const url = '/v1/projects/P1/drives/N/shifts/2027-05-01/day';
  const { body: versions } = await app.http.get(`${url}/versions`);
  const { body } = await app.http.get(`${url}/versions/${versions[0].change}`);
  expect(named(body as ShiftDocument)).toEqual([null, 'BELT']);
  expect(
    await app.sql(
      `select equipment_id is not null as named from history.activity where equipment_id is not null limit 1`,
    ),
  ).toEqual([{ named: true }]);
});
