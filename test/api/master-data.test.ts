import { commandScope } from '../../src/commands/command-scope.js';
import { Database } from '../../src/common/database/database.js';
import { inScope } from '../../src/common/database/scope.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const P = '/v1/projects/P1';

const PROJECT = { name: 'X', timeZone: 'Europe/Zurich', dayStart: '06:00', currency: 'CHF' };
const MACHINE = { name: 'M', discCount: 50, discRadiusMm: '241.3' };
const DRIVE = { name: 'D', startChainage: '1+200', endChainage: '2+200', direction: 1, boredDiameterM: '7' };
const ITEM = { kind: 'bolt', unit: 'nr', description: 'B' };

/** [address, valid body, what is changed, where the fault is, expected message] */
const FAULTS: [string, object, object, string, RegExp][] = [
  ['/v1/projects/P2', PROJECT, { timeZone: 'Europe/Nowhere' }, '/timeZone', /not a time zone/],
  // for PostgreSQL these are an abbreviation, POSIX names (where UTC+3 lies west of Greenwich), not a place, or in another case
  ...['CEST', 'PST', '1e3', 'UTC+3', '+01:00', 'AAA+5BBB', 'Factory', 'europe/zurich'].map(
    (timeZone): [string, object, object, string, RegExp] => [
      '/v1/projects/P2',
      PROJECT,
      { timeZone },
      '/timeZone',
      /not a time zone of the IANA database/,
    ],
  ),
  ['/v1/projects/P2', PROJECT, { dayStart: '24:00' }, '/dayStart', /time of day/],
  ['/v1/projects/P2', PROJECT, { currency: 'francs' }, '/currency', /currency/],
  ['/v1/projects/P2', PROJECT, { owner: 'me' }, '/owner', /should not exist/],
  ['/v1/projects/P%202', PROJECT, {}, '/project', /1 to 40 letters/],
  [
    `${P}/calendar-shifts/day`,
    { startTime: '06:00', endTime: '18:00', weekdays: [1] },
    { weekdays: [0] },
    '/weekdays/0',
    /^weekdays: value 1, 0, must be a whole number from 1 to 7, in digits alone$/,
  ],
  [
    `${P}/calendar-shifts/day`,
    { startTime: '06:00', endTime: '18:00', weekdays: [1] },
    { weekdays: ['1', 2, 'x'] },
    '/weekdays/2',
    /^weekdays: value 3, "x", must be a whole number from 1 to 7, in digits alone$/,
  ],
  [
    `${P}/equipment/X`,
    { description: 'X' },
    { inUseDuring: ['boring', 'asleep'] },
    '/inUseDuring/1',
    /^inUseDuring: value 2, "asleep", must be one of boring, /,
  ],
  [
    `${P}/calendar-shifts/day`,
    { startTime: '06:00', endTime: '18:00', weekdays: [1] },
    { weekdays: [1, 1] },
    '/weekdays',
    /weekdays/,
  ],
  [
    `${P}/calendar-shifts/day`,
    { startTime: '06:00', endTime: '18:00', weekdays: [1] },
    { weekdays: [] },
    '/weekdays',
    /weekdays/,
  ],
  [
    `${P}/calendar-shifts/day`,
    { startTime: '06:00', endTime: '18:00', weekdays: [1] },
    { startTime: '6' },
    '/startTime',
    /time of day/,
  ],
  [
    `${P}/activity-codes/X`,
    { description: 'X', countsAs: 'waiting' },
    { countsAs: 'idling' },
    '/countsAs',
    /countsAs must be one of/,
  ],
  [
    `${P}/ground-classes/X`,
    { description: 'X' },
    { description: 7 },
    '/description',
    /description must be text/,
  ],
  [`${P}/zones/X`, { name: 'Trailer' }, { name: ' ' }, '/name', /name must state what the zone is/],
  [`${P}/parties/X`, { name: 'X', kind: 'client' }, { name: ' ' }, '/name', /name must name the party/],
  [`${P}/support-items/X`, ITEM, { unit: 'm2' }, '/unit', /unit m2 does not fit a bolt: it is counted in nr/],
  [`${P}/support-items/X`, ITEM, { lengthM: '-3' }, '/lengthM', /lengthM must be a number from 0\.001/],
  [`${P}/machines/X`, MACHINE, { discCount: 0 }, '/discCount', /discCount must be a whole number from 1 to/],
  [
    `${P}/machines/X`,
    MACHINE,
    { discRadiusMm: '17' },
    '/discRadiusMm',
    /discRadiusMm must be a number from 100/,
  ],
  [
    `${P}/machines/X`,
    MACHINE,
    { torqueRatioLower: '0.6', torqueRatioUpper: '0.5' },
    '/torqueRatioUpper',
    /must be above torqueRatioLower 0\.6/,
  ],
  [`${P}/drives/X`, DRIVE, { direction: 0 }, '/direction', /direction must be 1/],
  [`${P}/drives/X`, DRIVE, { direction: -1 }, '/endChainage', /cannot end at 2\+200/],
  [`${P}/drives/X`, DRIVE, { endChainage: '1+200' }, '/endChainage', /cannot end at 1\+200/],
  [
    `${P}/drives/X`,
    DRIVE,
    { boredDiameterM: '700' },
    '/boredDiameterM',
    /boredDiameterM must be a number from 0\.5 to 30/,
  ],
  [
    `${P}/drives/X`,
    DRIVE,
    { machine: 'NOPE' },
    '/machine',
    /NOPE is not in the project: its machines are M1/,
  ],
];

describe('a wrong put', () => {
  it.each(FAULTS)('%s %j with %j is refused at %s', async (url, sound, change, pointer, detail) => {
    const before = await app.contents();
    const { status, body } = await app.http.put(url).send({ ...sound, ...change });
    expect(status).toBe(422);
    expect(body.errors).toContainEqual(
      expect.objectContaining({ pointer, detail: expect.stringMatching(detail) }),
    );
    expect(await app.contents()).toBe(before);
  });
});

it('takes the numbers of a list as text too, and names each that is wrong', async () => {
  const url = `${P}/calendar-shifts/day`;
  const times = { startTime: '06:00', endTime: '18:00' };
  const { status, body } = await app.http.put(url).send({ ...times, weekdays: ['9', '1', 'x'] });
  expect(status).toBe(422);
  expect((body.errors as object[]).map((each) => ({ ...each, detail: undefined }))).toEqual([
    { in: 'body', pointer: '/weekdays/0', value: '9' },
    { in: 'body', pointer: '/weekdays/2', value: 'x' },
  ]);
  const put = await app.http.put(url).send({ ...times, weekdays: ['1', 2, 3, 4, 5, 6, '7'] });
  expect([put.status, put.body.weekdays]).toEqual([200, [1, 2, 3, 4, 5, 6, 7]]);
});

describe('a second put', () => {
  it.each([
    ['/v1/projects/P3', PROJECT],
    [`${P}/machines/M3`, MACHINE],
    [`${P}/drives/D3`, DRIVE],
    [`${P}/support-items/S3`, ITEM],
    [`${P}/activity-codes/A3`, { description: 'X', countsAs: 'waiting' }],
    [`${P}/equipment/E3`, { description: 'X' }],
    [`${P}/ground-classes/G3`, { description: 'X' }],
    // in the project of the first case: in P1 day and night leave no time for it
    ['/v1/projects/P3/calendar-shifts/late', { startTime: '14:00', endTime: '22:00', weekdays: [1, 2] }],
  ])('%s changes nothing', async (url, body) => {
    const first = await app.http.put(url).send(body);
    expect(first.status).toBe(201);
    const before = await app.contents();
    const again = await app.http.put(url).send(body);
    expect([again.status, again.body]).toEqual([200, first.body]);
    expect(await app.contents()).toBe(before);
  });

  it('replaces the whole: what is no longer given is gone', async () => {
    const put = (body: object) => app.http.put(`${P}/support-items/S4`).send(body);
    expect((await put({ ...ITEM, lengthM: '3', capacityKn: '200' })).body).toMatchObject({
      lengthM: '3.000',
      capacityKn: '200.000',
    });
    expect((await put(ITEM)).body).toMatchObject({ code: 'S4', ...ITEM, lengthM: null, capacityKn: null });
  });
});

describe('GraphQL', () => {
  it('refuses a project whose time zone PostgreSQL cannot use', async () => {
    const query = `mutation { putProject(project: "G0", input: { name: "G", timeZone: "CEST", dayStart: "06:00", currency: "EUR" }) { code } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body).toMatchObject({ data: { putProject: null }, errors: [{ extensions: { status: 422 } }] });
    const { status, body: projects } = await app.http.get('/v1/projects');
    expect(status).toBe(200);
    expect((projects as { code: string }[]).map(({ code }) => code)).not.toContain('G0');
  });

  it('writes and reads the same records', async () => {
    const query = `mutation {
      putProject(project: "G1", input: { name: "G", timeZone: "UTC", dayStart: "06:00", currency: "EUR" }) { code }
      putCalendarShift(project: "G1", code: "day", input: { startTime: "06:00", endTime: "18:00", weekdays: [1, 2] }) { name }
      putActivityCode(project: "G1", code: "BORE", input: { description: "Boring", countsAs: boring }) { countsAs }
      putGroundClass(project: "G1", code: "A", input: { description: "Good" }) { code }
      putSupportItem(project: "G1", code: "R", input: { kind: rib, unit: nr, description: "Rib", massKgPerM: 29 }) { massKgPerM }
      putMachine(project: "G1", machine: "M", input: { name: "M", discCount: 50, discRadiusMm: 241.3 }) { discRadiusMm }
      putDrive(project: "G1", drive: "N", input: { name: "N", startChainage: "0+000", endChainage: "1+000", direction: 1, boredDiameterM: 7, machine: "M" }) { lengthM machine }
      putProbeHole(project: "G1", drive: "N", name: "H1", input: { collar: "0+000", lookOutDeg: 4, lengthM: 24 }) { axialReachM radialSpreadM reach } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    // L 24 m at 4°: 23.9415 and 1.6742 m (by definition).
    expect(body).toEqual({
      data: {
        putProject: { code: 'G1' },
        putCalendarShift: { name: 'day' },
        putActivityCode: { countsAs: 'boring' },
        putGroundClass: { code: 'A' },
        putSupportItem: { massKgPerM: '29.000' },
        putMachine: { discRadiusMm: '241.300' },
        putDrive: { lengthM: '1000.000', machine: 'M' },
        putProbeHole: { axialReachM: '23.942', radialSpreadM: '1.674', reach: '0+023.942' },
      },
    });
    const put = `mutation ($d: ShiftDocumentInput!) { putShift(project: "G1", drive: "N", date: "2027-03-01", shift: "day", document: $d, createOnly: true) { outcome etag openItems { kind detail } } }`;
    const document = aShift()
      .withStroke(1, '0+000', '0+001.7', '06:00', '06:40')
      .withActivity('BORE', '06:00', '18:00')
      .build();
    const first = await app.http.post('/graphql').send({ query: put, variables: { d: document } });
    expect(first.body.data.putShift).toMatchObject({
      outcome: 'created',
      openItems: [
        {
          kind: 'boring_time_differs',
          detail: 'shift 2027-03-01 day: 12.0000 h of boring in the activities, but 0.6667 h in the strokes',
        },
      ],
    });
    const { etag } = first.body.data.putShift as { etag: string };
    const again = await app.http
      .post('/graphql')
      .send({ query: put, variables: { d: { ...document, remark: 'again' } } });
    expect(again.body.errors[0].extensions).toMatchObject({
      status: 412,
      errors: [{ in: 'header', pointer: '/If-None-Match' }],
    });
    const read = `{ shift(project: "G1", drive: "N", date: "2027-03-01", shift: "day") { etag document { state strokes { number borings { from to } } } }
      project(project: "G1") { calendarShifts { name } activityCodes { code } groundClasses { code } supportItems { code } machines { code } drives { code probeHoles { name } progress { faceChainage } } } projects { code } }`;
    const answer = await app.http.post('/graphql').send({ query: read });
    expect(answer.body.data).toMatchObject({
      shift: {
        etag,
        document: {
          state: 'draft',
          strokes: [{ number: 1, borings: [{ from: '0+000.000', to: '0+001.700' }] }],
        },
      },
      project: {
        drives: [{ code: 'N', probeHoles: [{ name: 'H1' }], progress: { faceChainage: '0+001.700' } }],
        machines: [{ code: 'M' }],
      },
    });
    const remove = `mutation { removeShift(project: "G1", drive: "N", date: "2027-03-01", shift: "day", ifMatch: ${JSON.stringify(etag)}) }`;
    expect((await app.http.post('/graphql').send({ query: remove })).body).toEqual({
      data: { removeShift: true },
    });
  });

  it.each([
    ['{ project(project: "NOPE") { code } }', 'There is no project NOPE.', 404],
    ['{ drive(project: "P1", drive: "NOPE") { code } }', 'There is no drive NOPE in project P1.', 404],
    [
      '{ drive(project: "P 1", drive: "N") { code } }',
      'project must be 1 to 40 letters, digits, dots, hyphens or underscores',
      422,
    ],
    [
      '{ drive(project: "P1", drive: "N") { asBuilt(from: "0", to: "1") { from } } }',
      '2 faults; see errors',
      422,
    ],
  ])('%s is refused as a problem', async (query, message, status) => {
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toHaveLength(1);
    expect(body.errors[0]).toMatchObject({ message, extensions: { status } });
  });

  it.each([
    ['{ project(project: "P1") { secrets } }', /Cannot query field "secrets"/],
    ['{ project(project: "P1") {', /Syntax Error/],
    [
      `{ project(project: "P1") ${'{ drives '.repeat(1)}{ progress { faceChainage { x } } } } }`,
      /faceChainage/,
    ],
  ])('%s is refused in its own words', async (query, message) => {
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors[0].message).toMatch(message);
    expect(JSON.stringify(body)).not.toMatch(/node_modules/);
  });
});

describe('the values stored with the borings', () => {
  it('are those computed by a rebuild', async () => {
    const document = aShift('2027-05-01')
      .withStroke(1, '1+200', '1+201.7', '06:00', '06:40', {
        thrustKn: 12_000,
        torqueKnm: 2000,
        rotationRpm: 6,
        penetrationMmPerRev: 8,
      })
      .build();
    expect((await app.http.put(`${P}/drives/N/shifts/2027-05-01/day`).send(document)).status).toBe(201);
    const stored = () =>
      app.sql(
        `select penetration_rate_m_per_h, thrust_per_disc_kn, torque_ratio, specific_energy_mj_per_m3 from boring`,
      );
    const before = await stored();
    // PR = 8·6·60/1000 m/h; 12 000 kN on 50 discs.
    expect(before).toEqual([
      expect.objectContaining({ penetration_rate_m_per_h: 2.88, thrust_per_disc_kn: 240 }),
    ]);
    await app.sql(`update boring set torque_ratio = 9, thrust_per_disc_kn = null`);
    const { StrokeValuesService } =
      await import('../../src/features/driving/stroke-values/stroke-values.service.js');
    const rebuilt = async (): Promise<number> => {
      const scope = await commandScope(app.app.get(Database), 'P1');
      return inScope(scope, () => app.app.get(StrokeValuesService).rebuildAll());
    };
    expect(await rebuilt()).toBe(1);
    expect(await stored()).toEqual(before);
    expect(await rebuilt()).toBe(0);
  });
});
