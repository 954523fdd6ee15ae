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
