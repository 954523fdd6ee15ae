import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

// Each fault is sent by REST and by GraphQL: the answer is a 4xx that names the field, and the database is unchanged.

const URL = '/v1/projects/P1/drives/N/shifts/2027-03-01/day';
const PUT_SHIFT = `mutation ($document: ShiftDocumentInput!) {
  putShift(project: "P1", drive: "N", date: "2027-03-01", shift: "day", document: $document) { outcome } }`;

let app: TestApp;
let before: string;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  before = await app.contents();
});

afterEach(async () => {
  expect(await app.contents()).toBe(before);
});

afterAll(() => app.close());

const sound = (): ShiftDocument =>
  aShift()
    .withStroke(1, '1+200', '1+201.7', '06:00', '06:40', { thrustKn: 10_000 })
    .withActivity('BORE', '06:00', '06:40')
    .withActivity('MAINT', '06:40', '18:00')
    .withSupport('BOLT', '1+200', '1+201.7', '4')
    .withGround('A', '1+200', '1+201.7')
    .build();

/** A document with one value set to another, by its pointer. */
const withValue = (pointer: string, value: unknown): unknown => {
  const document = sound() as unknown as Record<string, unknown>;
  const path = pointer.split('/').slice(1);
  const last = path.pop() ?? '';
  const holder = path.reduce((node, key) => node[key] as Record<string, unknown>, document);
  holder[last] = value;
  return document;
};

const BORING = '/strokes/0/borings/0';

/** [what is wrong, where, the value, expected message] */
const FAULTS: [string, string, unknown, RegExp][] = [
  ['a chainage with too many decimals', `${BORING}/to`, '1+201.7001', /to must be a chainage/],
  ['a chainage in words', `${BORING}/to`, 'NaN', /to must be a chainage/],
  ['a chainage in kilometres with a unit', `${BORING}/to`, '1.2017 km', /to must be a chainage/],
  ['a huge chainage', `${BORING}/to`, '99999999999999999999', /to must be a chainage/],
  [
    'metres beyond the end of the drive',
    `${BORING}/to`,
    '2+200.001',
    /2\+200\.001 lies beyond the end of the drive at 2\+200\.000/,
  ],
  [
    'metres behind its start',
    `${BORING}/from`,
    '1+199.999',
    /1\+199\.999 lies behind the start of the drive at 1\+200\.000/,
  ],
  [
    'a boring of negative length',
    `${BORING}/to`,
    '1+199',
    /does not lie ahead of 1\+200: the drive runs with rising chainage/,
  ],
  ['a boring without length', `${BORING}/to`, '1+200', /does not lie ahead of 1\+200/],
  ['a negative thrust', `${BORING}/thrustKn`, -1, /thrustKn must not be less than 0/],
  ['a thrust in newtons', `${BORING}/thrustKn`, 10_000_000, /thrustKn must not be greater than 1000000/],
  [
    'a penetration too small to divide by',
    `${BORING}/penetrationMmPerRev`,
    1e-320,
    /penetrationMmPerRev must be 0 or at least 0\.000001/,
  ],
  ['a huge thrust', `${BORING}/thrustKn`, 1e300, /thrustKn must not be greater than 1000000/],
  [
    'a penetration in m/h that no head has',
    `${BORING}/penetrationMmPerRev`,
    101,
    /penetrationMmPerRev must not be greater than 100/,
  ],
  ['a boring before the shift', `${BORING}/startedAt`, '2027-03-01T05:59:00Z', /lies outside the shift/],
  ['a boring after the shift', `${BORING}/endedAt`, '2027-03-01T18:00:01Z', /lies outside the shift/],
  ['a boring that ends before it starts', `${BORING}/endedAt`, '2027-03-01T06:00:00Z', /not after its start/],
  [
    'a time without an offset',
    `${BORING}/startedAt`,
    '2027-03-01T06:00:00',
    /startedAt must be a moment with its offset/,
  ],
  [
    'an invalid date',
    `${BORING}/startedAt`,
    '2027-02-30T06:00:00Z',
    /startedAt must be a day of the calendar/,
  ],
  [
    'an unknown activity code',
    '/activities/0/code',
    'NOPE',
    /^activity code NOPE is not in the project: its activity codes are BORE, MAINT$/,
  ],
  [
    'unknown equipment',
    '/activities/0/equipment',
    'LIFT',
    /^equipment LIFT is not in the project: it has none$/,
  ],
  [
    'a code of an object',
    '/activities/0/code',
    'constructor',
    /activity code constructor is not in the project/,
  ],
  [
    'an activity outside the shift',
    '/activities/1/endedAt',
    '2027-03-01T19:00:00Z',
    /lies outside the shift/,
  ],
  [
    'activities that overlap',
    '/activities/1/startedAt',
    '2027-03-01T06:35:00Z',
    /MAINT starts at 2027-03-01T06:35:00Z, but BORE lasts until 2027-03-01T06:40:00Z: 5 minutes twice/,
  ],
  [
    'an unknown support item',
    '/support/0/item',
    'NAIL',
    /^support item NAIL is not in the project: its support items are BOLT, MESH, RIB, SPRAY$/,
  ],
  ['half a bolt', '/support/0/quantity', '4.5', /BOLT is counted in whole numbers, not 4\.5/],
  ['no bolt', '/support/0/quantity', '0', /quantity must be a number from 0\.001/],
  ['a negative quantity', '/support/0/quantity', '-4', /quantity must be a number from 0\.001/],
  ['a quantity that is not a number', '/support/0/quantity', 'NaN', /quantity must be a number/],
  ['a quantity with an exponent', '/support/0/quantity', '1e3', /quantity must be a number/],
  ['support beyond the drive', '/support/0/to', '3+000', /lies beyond the end of the drive/],
  ['support against the drive', '/support/0/to', '1+199', /does not lie ahead of 1\+200/],
  ['an arc beyond the circle', '/support/0/arcFromDeg', '361', /arcFromDeg must be a number from 0 to 360/],
  ['half an arc', '/support/0/arcToDeg', '60', /an arc needs both/],
  ['a bolt with a thickness', '/support/0/thicknessMm', '100', /thickness belongs to sprayed concrete/],
  [
    'support installed after the shift',
    '/support/0/installedAt',
    '2027-03-02T00:00:00Z',
    /lies outside the shift/,
  ],
  [
    'an unknown ground class',
    '/ground/0/groundClass',
    'Z',
    /^ground class Z is not in the project: its ground classes are A, B$/,
  ],
  [
    'a shift that starts on another day',
    '/startsAt',
    '2027-03-02T06:00:00Z',
    /the shift of 2027-03-01 starts on 2027-03-02/,
  ],
  ['a shift of 26 hours', '/endsAt', '2027-03-02T08:00:00Z', /the shift would last 26 h/],
  ['a shift that ends before it starts', '/endsAt', '2027-03-01T05:00:00Z', /the shift would last -1 h/],
  ['control characters', '/remark', 'a\u0000b', /remark must be text without control characters/],
  ['half a character', '/remark', '\ud800', /remark must be text/],
  ['a long text', '/remark', 'x'.repeat(2001), /remark must be shorter than or equal to 2000 characters/],
];

describe.each(FAULTS)('%s', (_, pointer, value, detail) => {
  it('is refused by REST with the field named', async () => {
    const { status, headers, body } = await app.http.put(URL).send(withValue(pointer, value) as object);
    expect(status).toBe(422);
    expect(headers['content-type']).toContain('application/problem+json');
    expect(body.errors).toContainEqual(
      expect.objectContaining({ in: 'body', pointer, detail: expect.stringMatching(detail) }),
    );
  });

  it('is refused by GraphQL with the same problem', async () => {
    const variables = { document: withValue(pointer, value) };
    const { status, body } = await app.http.post('/graphql').send({ query: PUT_SHIFT, variables });
    expect(status).toBe(200);
    expect(Object.values(body.data as object)).toEqual([null]);
    expect(body.errors[0].extensions).toMatchObject({ status: 422 });
    expect(body.errors[0].extensions.errors).toContainEqual(
      expect.objectContaining({ pointer, detail: expect.stringMatching(detail) }),
    );
  });
});

// Refused by GraphQL's own types before a resolver runs; REST refuses it by the same classes.
const MISTYPED: [string, string, unknown, RegExp][] = [
  ['an unknown field', '/strokes/0/length', 1.7, /length/],
  ['an unknown field at the top', '/weather', 'rain', /weather/],
  ['a text that is not a number', `${BORING}/thrustKn`, '10 000', /thrustKn/],
  ['a fraction for a count', '/strokes/0/number', 1.5, /number/],
  ['an unknown state', '/state', 'countersigned', /state/],
  ['an unknown zone', '/support/0/zone', 'L3', /zone/],
  ['an object for a list', '/strokes', { number: 1 }, /strokes/],
  ['a list inside the list', '/strokes', [[{ number: 1, borings: [] }]], /strokes/],
  ['a missing list', '/strokes/0/borings', undefined, /borings/],
  ['null for a list', '/strokes/0/borings', null, /borings/],
];

describe.each(MISTYPED)('%s', (_, pointer, value, named) => {
  it('is refused by REST', async () => {
    const { status, body } = await app.http.put(URL).send(withValue(pointer, value) as object);
    expect(status).toBe(422);
    expect(body.errors.map((fault: { pointer: string }) => fault.pointer)).toContainEqual(
      expect.stringMatching(named),
    );
  });

  it('is refused by GraphQL', async () => {
    const variables = { document: withValue(pointer, value) };
    const { body } = await app.http.post('/graphql').send({ query: PUT_SHIFT, variables });
    expect(
      Object.values((body.data as object | null | undefined) ?? {}).filter((each) => each !== null),
    ).toEqual([]);
    expect(JSON.stringify(body.errors)).toMatch(named);
    expect(JSON.stringify(body)).not.toMatch(/node_modules|at \w+ \(/);
  });
});

describe('a body that cannot be read', () => {
  let address: string;

  beforeAll(async () => {
    address = await app.app.getUrl();
  });

  const send = async (
    headers: Record<string, string>,
    body: Buffer | string,
  ): Promise<{ status: number; body: Record<string, unknown> }> => {
    const answer = await fetch(address + URL, { method: 'PUT', headers, body: Buffer.from(body) });
    return { status: answer.status, body: (await answer.json()) as Record<string, unknown> };
  };
  const json = { 'content-type': 'application/json' };

  it.each([
    ['NaN as a number', json, JSON.stringify(sound()).replace('10000', 'NaN'), 400, /not JSON/],
    ['a cut body', json, JSON.stringify(sound()).slice(0, 100), 400, /not JSON/],
    ['an empty body', json, '', 400, /body/i],
    [
      'bytes that are not UTF-8',
      json,
      Buffer.concat([Buffer.from('{"remark":"'), Buffer.from([0xff, 0xfe]), Buffer.from('"}')]),
      400,
      /not UTF-8/,
    ],
    [
      'a body of 5 MB',
      json,
      JSON.stringify({ ...sound(), remark: 'x'.repeat(5 * 1024 * 1024) }),
      413,
      /large/i,
    ],
    ['no content type', {}, JSON.stringify(sound()), 415, /media type|content type/i],
    ['another content type', { 'content-type': 'text/csv' }, 'a,b', 415, /media type|content type/i],
    [
      'plain text',
      { 'content-type': 'text/plain' },
      JSON.stringify(sound()),
      415,
      /media type|content type/i,
    ],
    ['a poisoned prototype', json, '{"__proto__":{"state":"draft"}}', 400, /no record has/],
    ['a bare value', json, '42', 422, /./],
    ['a list', json, '[]', 422, /./],
    ['null', json, 'null', 422, /./],
  ])('%s', async (_, headers, body, status, detail) => {
    const answer = await send(headers, body);
    expect(answer.status).toBe(status);
    expect(answer.body['detail']).toMatch(detail);
    expect(answer.body['type']).toMatch(/^\/docs\/problems#/);
  });
});

describe('an address', () => {
  it.each([
    ['of an unknown project', '/v1/projects/NOPE/drives/N/shifts/2027-03-01/day', 404, /project NOPE/],
    ['of an unknown drive', '/v1/projects/P1/drives/NOPE/shifts/2027-03-01/day', 404, /drive NOPE/],
    [
      'of an unknown shift name',
      '/v1/projects/P1/drives/N/shifts/2027-03-01/swing',
      404,
      /its shifts are day, night/,
    ],
    ['with no date', '/v1/projects/P1/drives/N/shifts/1.3.2027/day', 422, /date must be a date/],
    [
      'with an invalid date',
      '/v1/projects/P1/drives/N/shifts/2027-13-01/day',
      422,
      /date must be a day of the calendar/,
    ],
    [
      'with a control character',
      '/v1/projects/P1%00/drives/N/shifts/2027-03-01/day',
      422,
      /project must be 1 to 40/,
    ],
    ['that is not one', '/v1/project/P1', 404, /./],
  ])('%s is refused', async (_, url, status, detail) => {
    const answer = await app.http.put(url).send(sound());
    expect(answer.status).toBe(status);
    expect(answer.body.detail).toMatch(detail);
  });
});
