import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { type Office, startOffice } from '../harness/office.js';

// What a record holds fast is refused at the field of the body that would change it, with its value and the rule.

let app: Office;

const P = '/v1/projects/P1';
const SHIFT = `${P}/drives/N/shifts/2027-03-01/day`;

beforeAll(async () => {
  app = await startOffice('olga', ['anna', 'boris']);
  await aProject(app.as('olga'));
  await app.employ('P1', { anna: 'shift_poster', boris: 'engineer' });
  const shift = aShift()
    .submitted()
    .withStroke(1, '1+200', '1+201.7', '06:00', '06:40', {
      thrustKn: 9000,
      torqueKnm: 2000,
      rotationRpm: 5,
      penetrationMmPerRev: 8,
    })
    .withActivity('BORE', '06:00', '06:40')
    .withActivity('MAINT', '06:40', '18:00')
    .withSupport('BOLT', '1+200', '1+201.7', '8')
    .withGround('A', '1+200', '1+201.7')
    .build();
  const put = await app.http.put(SHIFT).set(app.headersOf('anna')).send(shift);
  expect(put.status).toBe(201);
  const { status, text } = await app.http
    .post(`${SHIFT}/countersign`)
    .set(app.headersOf('boris'))
    .set('If-Match', put.headers['etag'] as string)
    .send();
  expect([status, text]).toEqual([200, expect.anything()]);
});

afterAll(() => app.close());

const DRIVE = {
  name: 'Trial drive',
  startChainage: '1+200',
  endChainage: '2+200',
  direction: 1,
  boredDiameterM: '7',
  machine: 'M1',
};

const RECOMPUTED =
  'values of strokes of drive N would change, but shift 2027-03-01 day is countersigned: reopen it before you change it';

it.each([
  [
    'the unit of an item in a countersigned shift',
    'support-items/BOLT',
    { kind: 'spile', unit: 'm', description: 'Spile' },
    'BOLT is in nr in shift 2027-03-01 day of drive N, which is countersigned: its unit cannot change',
    { '/unit': 'm' },
  ],
  [
    'what a code counts as',
    'activity-codes/BORE',
    { description: 'Boring', countsAs: 'waiting' },
    'code BORE counts as boring and has time booked on it: use a new code',
    { '/countsAs': 'waiting' },
  ],
  ['no machine', 'drives/N', { ...DRIVE, machine: null }, RECOMPUTED, { '/machine': null }],
  ['the machine left out', 'drives/N', { ...DRIVE, machine: undefined }, RECOMPUTED, { '/machine': null }],
  ['another diameter', 'drives/N', { ...DRIVE, boredDiameterM: 8 }, RECOMPUTED, { '/boredDiameterM': 8 }],
  [
    'machine and diameter',
    'drives/N',
    { ...DRIVE, machine: null, boredDiameterM: '8' },
    RECOMPUTED,
    { '/machine': null, '/boredDiameterM': '8' },
  ],
  [
    'another start',
    'drives/N',
    { ...DRIVE, startChainage: '1+100' },
    'start chainage and direction cannot change: the drive has a record',
    { '/startChainage': '1+100' },
  ],
  [
    'another direction',
    'drives/N',
    { ...DRIVE, direction: -1, endChainage: '0+200' },
    'start chainage and direction cannot change: the drive has a record',
    { '/direction': -1 },
  ],
  [
    'an earlier end',
    'drives/N',
    { ...DRIVE, endChainage: '1+201' },
    'the drive cannot end before 1+201.700, to which its record reaches',
    { '/endChainage': '1+201' },
  ],
])('%s', async (_, path, body, detail, fields) => {
  const { status, body: problem } = await app.http.put(`${P}/${path}`).set(app.headersOf('olga')).send(body);
  expect([status, problem.type, problem.detail]).toEqual([409, '/docs/problems#locked', detail]);
  expect(problem.errors).toEqual(
    Object.entries(fields).map(([pointer, value]) => ({ in: 'body', pointer, value, detail })),
  );
});

describe('the unit of an item that is not in a countersigned shift', () => {
  const NR = { kind: 'spile', unit: 'nr', description: 'Spile' };
  const RIB = { kind: 'rib', unit: 'nr', description: 'Rib' };
  const inShift = (more: object, quantity = '2') =>
    aShift('2027-03-02').withSupport('X', '1+200', '1+201', quantity, more).build();
  const standard = (code: string) => ({
    edition: 'T1',
    items: [{ item: code, zone: 'L1', spacingM: '1', toleranceM: '0.1', piecesPerRow: 1 }],
  });
  const section = { from: '1+300', to: '1+310', ...standard('X') };

  const refused = async (input: object, unit: string) => {
    const { status, body } = await put('support-items/X', { ...input, unit });
    expect(body.errors).toEqual([{ in: 'body', pointer: '/unit', value: unit, detail: body.detail }]);
    return [status, body.type, body.detail];
  };
  const put = (path: string, body: object) =>
    app.http.put(`${P}/${path}`).set(app.headersOf('olga')).send(body);
  const shift = async (body: object) =>
    expect(
      (await app.http.put(`${P}/drives/N/shifts/2027-03-02/day`).set(app.headersOf('anna')).send(body))
        .status,
    ).toBeLessThan(300);

  afterEach(async () => {
    await app.sql(
      `delete from standard_support; delete from design_section; delete from shift where state = 'draft'`,
    );
    await app.sql(`delete from support_item where code = 'X'`);
  });

  it.each([
    ['positions along the drive', NR, { positions: ['1+200.2', '1+200.7'] }, 'm'],
    ['positions on the ring', NR, { arcPositionsDeg: ['10', '350'] }, 'm'],
  ])('%s', async (_, item, more, unit) => {
    await put('support-items/X', item);
    await shift(inShift(more));
    expect(await refused(item, unit)).toEqual([
      409,
      '/docs/problems#conflict',
      'X has the positions of its pieces in shift 2027-03-02 day of drive N, which only an item in nr has: its unit cannot change',
    ]);
  });

  it('a delivered volume', async () => {
    const fill = { kind: 'sprayed_concrete', unit: 'm3', description: 'Sprayed' };
    await put('support-items/X', fill);
    await shift(inShift({ deliveredVolumeM3: '3' }));
    expect((await put('support-items/X', { ...fill, unit: 'm2' })).status).toBe(200);
    expect(await refused({ kind: 'cavity_fill', description: 'Fill' }, 'kg')).toEqual([
      409,
      '/docs/problems#conflict',
      'X has a delivered volume in shift 2027-03-02 day of drive N, which only an item in m2 or m3 has: its unit cannot change',
    ]);
  });

  it('a broken quantity', async () => {
    const inMetres = { ...RIB, unit: 'm' };
    await put('support-items/X', inMetres);
    await shift(inShift({}, '2.5'));
    expect(await refused(RIB, 'nr')).toEqual([
      409,
      '/docs/problems#conflict',
      'X has the quantity 2.500 in shift 2027-03-02 day of drive N, and an item in nr has whole numbers up to 10000: its unit cannot change',
    ]);
    expect((await put('support-items/X', { ...RIB, unit: 'kg' })).status).toBe(200);
  });

  it.each([
    [
      'a standard',
      'ground-classes/A/standard-support',
      standard('X'),
      'the standard support of ground class A',
    ],
    ['a design section', 'drives/N/design-sections/D1', section, 'design section D1 of drive N'],
  ])('%s with a spacing', async (_, path, body, by) => {
    await put('support-items/X', RIB);
    expect((await put(path, body)).status).toBe(201);
    expect(await refused(RIB, 'kg')).toEqual([
      409,
      '/docs/problems#conflict',
      `X is demanded in nr per metre by ${by}: its unit cannot change`,
    ]);
  });
});

it.each([[{}], [{ 'If-Match': '*' }]])(
  'the unit of an item in a countersigned shift and in a standard with a spacing, with headers %j',
  async (headers) => {
    const put = (path: string, body: object) =>
      app.http.put(`${P}/${path}`).set(app.headersOf('olga')).set(headers).send(body);
    const items = [{ item: 'BOLT', zone: 'L1', spacingM: '1', piecesPerRow: 1 }];
    await app.http
      .put(`${P}/ground-classes/A/standard-support`)
      .set(app.headersOf('olga'))
      .send({ edition: 'T1', items });
    const { status, body } = await put('support-items/BOLT', {
      kind: 'drain',
      unit: 'm',
      description: 'Drain',
    });
    const detail =
      'BOLT is in nr in shift 2027-03-01 day of drive N, which is countersigned: its unit cannot change';
    expect([status, body.type, body.detail]).toEqual([409, '/docs/problems#locked', detail]);
    expect(body.errors).toEqual([{ in: 'body', pointer: '/unit', value: 'm', detail }]);
  },
);
