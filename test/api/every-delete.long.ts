import { createHash } from 'node:crypto';
import { wholeRecord } from '../builders/whole-record.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type Operation, operationsOf } from './operations.js';

// What can be removed and what cannot, for every DELETE of the OpenAPI document, in a project with rows in every table.

const D = '/drives/N';

/** Addresses of records in use, and what the refusal names. The names are those of whole-record.ts. */
const USED: [template: string, address: string, ...users: string[]][] = [
  ['/parties/{party}', '/parties/C', 'poster of P1'],
  ['/calendar-shifts/{code}', '/calendar-shifts/day', 'shift N 2027-03-01 day, N 2027-03-03 day'],
  ['/calendars/{validFrom}', '/calendars/2027-06-01', 'night'],
  [
    '/activity-codes/{code}',
    '/activity-codes/STOP',
    'shift N 2027-03-01 day',
    'measurement rule N bill-P1 T.1-P1',
  ],
  ['/equipment/{code}', '/equipment/BELT', 'shift N 2027-03-01 day'],
  [
    '/ground-classes/{code}',
    '/ground-classes/A',
    'shift N 2027-03-01 day',
    'class decision N 1',
    'baseline N base-P1',
    'standard support of class A from 2027-02-01',
  ],
  [
    '/support-items/{code}',
    '/support-items/BOLT',
    'shift N 2027-03-01 day',
    'entitlement N time-P1',
    'design section N S-P1',
    'limits of doubt from 2027-01-01',
  ],
  ['/machines/{machine}', '/machines/M', 'drive N'],
  [
    '/drives/{drive}',
    D,
    ...[
      'shift N 2027-03-01 day',
      'stroke without a shift N 2',
      'probe hole N H-P1',
      'measurement of inflow N W-P1',
      'water limits N from 2024-01-01',
      'hold point N HP-P1',
      'alert rule N AR-P1',
      'alert N 1',
      'probe requirement N R-P1',
      'water test N WT-P1',
      'grouting round N GR-P1',
      'ground log N GL-P1',
      'bill N bill-P1',
    ],
    ...[
      'valuation N 1, N 2',
      'programme N plan-P1',
      'attachment N face of P1.jpg',
      'notice N N-P1',
      'closure N BREAK',
    ],
    ...[
      'machine sample N 2027-03-01 06:30:00+00',
      'disputed quantity N 1',
      'overbreak N O-P1',
      'discontinuity N D-P1',
      'investigation N V-P1',
      'encounter N E-P1',
    ],
  ],
  ['/zones/{code}', '/zones/Z-P1', 'installed support', 'design section'],
  ['/notice-rules/{code}', '/notice-rules/CLAIM-P1', 'N-P1'],
  ['/drives/{drive}/baselines/{baseline}', `${D}/baselines/base-P1`, 'entitlement time-P1'],
  ['/drives/{drive}/bills/{version}', `${D}/bills/bill-P1`, 'valuation N 1'],
  ['/drives/{drive}/valuations/{number}', `${D}/valuations/1`, 'certified'],
];

/** Records to which nothing else refers; some cannot be removed for another reason, such as a signature. */
const OWN: [template: string, address: string][] = [
  ['/members/{subject}', '/members/poster%20of%20P1'],
  ['/api-keys/{prefix}', '/api-keys/key%20of%20P1'],
  ['/webhooks/{name}', '/webhooks/WH-P1'],
  ['/jobs/{number}', '/jobs/100'],
  ['/closures/{code}', '/closures/BREAK'],
  ['/doubt-limits/{validFrom}', '/doubt-limits/2027-01-01'],
  ['/alert-rules/{code}', '/alert-rules/AR-P1'],
  ['/acceptance-rules/{validFrom}', '/acceptance-rules/2020-01-01'],
  ['/machines/{machine}/revisions/{validFrom}', '/machines/M/revisions/2027-08-01'],
  ['/ground-classes/{code}/standard-support', '/ground-classes/A/standard-support'],
  ['/drives/{drive}/shifts/{date}/{shift}', `${D}/shifts/2027-03-03/day`],
  ['/drives/{drive}/probe-holes/{name}', `${D}/probe-holes/H-P1`],
  ['/drives/{drive}/inflow-measurements/{name}', `${D}/inflow-measurements/W-P1`],
  ['/drives/{drive}/water-tests/{name}', `${D}/water-tests/WT-P1`],
  ['/drives/{drive}/grouting-rounds/{name}', `${D}/grouting-rounds/GR-P1`],
  ['/drives/{drive}/water-limits/{validFrom}', `${D}/water-limits/2024-01-01`],
  ['/drives/{drive}/hold-points/{code}', `${D}/hold-points/HP-P1`],
  [
    '/drives/{drive}/attachments/{digest}',
    `${D}/attachments/${createHash('sha256').update('photo of P1').digest('hex')}`,
  ],
  ['/drives/{drive}/discontinuities/{name}', `${D}/discontinuities/D-P1`],
  ['/drives/{drive}/notices/{code}', `${D}/notices/N-P1`],
  ['/drives/{drive}/overbreak/{name}', `${D}/overbreak/O-P1`],
  ['/drives/{drive}/investigations/{name}', `${D}/investigations/V-P1`],
  ['/drives/{drive}/encounters/{name}', `${D}/encounters/E-P1`],
  ['/drives/{drive}/ground-logs/{name}/propose-as-governing', `${D}/ground-logs/GL-P1/propose-as-governing`],
  ['/drives/{drive}/ground-logs/{name}', `${D}/ground-logs/GL-P1`],
  ['/drives/{drive}/programmes/{programme}', `${D}/programmes/plan-P1`],
  ['/drives/{drive}/class-decisions/{number}', `${D}/class-decisions/1`],
  ['/drives/{drive}/entitlements/{entitlement}', `${D}/entitlements/time-P1`],
  ['/drives/{drive}/lump-progress/{reference}/{day}', `${D}/lump-progress/L-P1/2027-03-01`],
  ['/drives/{drive}/design-sections/{name}', `${D}/design-sections/S-P1`],
  ['/drives/{drive}/bills/{version}/rules/{reference}', `${D}/bills/bill-P1/rules/T.1-P1`],
];

/** Messages of PostgreSQL and Prisma, and the generic ones of the service. */
const RAW = /constraint|violates|foreign key|relation "|\(rule: |record of kind|prisma|_fkey/i;

let app: TestApp;
let deletes: Operation[];

beforeAll(async () => {
  app = await startApp();
  await app.sql(wholeRecord(1, 'P1'));
  // ids of records made through the service must follow those of the record
  await app.sql(
    `select setval(format('%I.%I', schemaname, sequencename)::regclass, 100000) from pg_sequences where schemaname = 'public'`,
  );
  await app.sql(`
    update measurement_rule set source = 'time', dimension = 'hours', activities = '{STOP}' where id = 100;
    insert into calendar_shift (id, project_id, name, valid_from, start_time, end_time, weekdays) values (150, 1, 'night', '2027-06-01', '18:00', '06:00', '{1,2,3}');
    insert into shift (id, project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      values (150, 1, 1, '2027-06-01', 150, '2027-06-01 18:00Z', '2027-06-02 06:00Z', 'draft', 'night')`);
  deletes = operationsOf(app).filter(({ method }) => method === 'delete');
});

afterAll(() => app.close());

const remove = async (address: string): Promise<{ status: number; detail: string }> => {
  const path = `/v1/projects/P1${address}`;
  const { status, body } = await app.http.delete(path).set('if-match', '*');
  return { status, detail: String((body as { detail?: string }).detail ?? '') };
};

it('is in one of the tables', () => {
  const known = [...USED, ...OWN].map(([template]) => `/v1/projects/{project}${template}`);
  expect(deletes.map(({ path }) => path).sort()).toEqual(known.sort());
});

it.each(USED)('%s: what is in use stays, and the refusal names its users', async (_, address, ...users) => {
  const before = await app.contents();
  const { status, detail } = await remove(address);
  expect([status, detail]).toEqual([409, detail]);
  for (const user of users) expect(detail).toContain(user);
  expect(detail).not.toMatch(RAW);
  expect(await app.contents()).toBe(before);
});

it.each([
  ['removeActivityCode', 'code: "STOP"', '/activity-codes/STOP'],
  ['removeEquipment', 'code: "BELT"', '/equipment/BELT'],
  ['removeGroundClass', 'code: "A"', '/ground-classes/A'],
  ['removeSupportItem', 'code: "BOLT"', '/support-items/BOLT'],
  ['removeMachine', 'machine: "M"', '/machines/M'],
  ['removeDrive', 'drive: "N"', D],
  ['removeCalendarShift', 'code: "day"', '/calendar-shifts/day'],
])('%s of GraphQL refuses in the same words', async (mutation, named, address) => {
  const query = `mutation { ${mutation}(project: "P1", ${named}) }`;
  const { body } = await app.http.post('/graphql').send({ query });
  const { detail } = await remove(address);
  expect(body).toMatchObject({ errors: [{ message: detail, extensions: { status: 409 } }] });
});

it.each(OWN)('%s: what nothing refers to is removed, or the refusal says why', async (_, address) => {
  const { status, detail } = await remove(address);
  expect([204, 404, 409, 422]).toContain(status);
  expect(detail).not.toMatch(RAW);
});

it('what was used can be removed once its users are gone, and its history stays', async () => {
  const put = async (path: string, body: object): Promise<void> => {
    const { status, text } = await app.http.put(`/v1/projects/P1${path}`).send(body);
    expect([path, text, status]).toEqual([path, text, 201]);
  };
  const drive = {
    name: 'Spare',
    startChainage: '1+000',
    endChainage: '2+000',
    direction: 1,
    boredDiameterM: '7',
  };
  const hole = { collar: '1+001', lookOutDeg: '5', lengthM: '30' };
  await put('/machines/M9', { name: 'Spare', discCount: 50, discRadiusMm: '241.3' });
  await put('/drives/X', { ...drive, machine: 'M9' });
  await put('/drives/X/probe-holes/H1', hole);
  await put('/activity-codes/NEW', { description: 'x', countsAs: 'waiting' });
  await put('/equipment/NEW', { description: 'x' });
  await put('/ground-classes/NEW', { description: 'x' });
  await put('/support-items/NEW', { kind: 'bolt', unit: 'nr', description: 'x' });
  await put('/calendar-shifts/late', { startTime: '18:00', endTime: '06:00', weekdays: [7] });
  expect((await remove('/machines/M9')).detail).toBe('machine M9 cannot be removed: it is used by drive X');
  expect((await remove('/drives/X')).detail).toBe('drive X cannot be removed: it is used by probe hole X H1');
  for (const address of [
    ...['/drives/X/probe-holes/H1', '/drives/X', '/machines/M9', '/activity-codes/NEW', '/equipment/NEW'],
    ...['/ground-classes/NEW', '/support-items/NEW', '/calendar-shifts/late'],
  ]) {
    expect([address, await remove(address)]).toEqual([address, { status: 204, detail: '' }]);
    expect([address, (await app.http.get(`/v1/projects/P1${address}`)).status]).toEqual([address, 404]);
    expect([address, (await remove(address)).status]).toEqual([address, 404]); // whatever If-Match says (RFC 9110, section 13.2.1)
    expect((await app.http.delete(`/v1/projects/P1${address}`)).status).toBe(404);
  }
  const { body } = await app.http.get('/v1/projects/P1/changes?drive=X');
  expect((body as { items: { kinds: string[] }[] }).items.map(({ kinds }) => kinds)).toEqual([
    ['drive'],
    ['probing'],
    ['probing'],
    ['drive'],
  ]);
});
