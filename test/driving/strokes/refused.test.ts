import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import {
  csv,
  expectFault,
  HEAD,
  MAP,
  type RefusedCase as Case,
  ROWS,
  TIMED_HEAD,
  TIMED_MAP,
  type Upload,
  upload,
} from './tables.js';

/**
 * The drive runs from 1+200 to 2+200. Stroke 10, 17.0 to 18.7 m, was posted with a shift from 07:00 to 07:40; stroke
 * 20, 34.0 to 35.7 m, was imported.
 */
let app: TestApp;
let before: string;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const shift = aShift().withStroke(10, '1+217', '1+218.7', '07:00', '07:40').build();
  expect((await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift)).status).toBe(201);
  expect((await upload(app, { file: csv(['20,34,35.7,9000']) })).status).toBe(200);
  before = await app.contents();
});

afterAll(() => app.close());

afterEach(async () => expect(await app.contents()).toBe(before));

const rows = (...more: string[]): Upload => ({ file: csv(more) });
const timed = (...more: string[]): Upload => ({ file: csv(more, TIMED_HEAD), map: TIMED_MAP });

/** A penetration so small that the field penetration index overflows. */
const tiny: Upload = {
  file: csv(['1,0,1.7,9000,1e-320'], `${HEAD},p`),
  map: { ...MAP, penetrationMmPerRev: 'p' },
};

const ROW: Case[] = [
  [
    'a reading too small to divide by',
    tiny,
    '/rows/0/penetrationMmPerRev',
    /^penetrationMmPerRev is 1e-320; it must be 0, or from 0.000001 to 100$/,
  ],
  [
    'too few columns',
    rows('1,0,1.7,9000', '2,1.7,3.4'),
    '/rows/1',
    'the row has 3 columns; there are 4 headings',
  ],
  ['too many columns', rows('1,0,1.7,9000,1'), '/rows/0', 'the row has 5 columns; there are 4 headings'],
  ['a field that is missing', rows('1,,1.7,9000'), '/rows/0/fromM', 'fromM is missing'],
  [
    'a number twice',
    rows(...ROWS, '3,5.1,6.8,'),
    '/rows/3/number',
    'stroke 3 is listed twice, on lines 4 and 5',
  ],
  ['a number with decimals', rows('1.5,0,1.7,9000'), '/rows/0/number', /must be a whole number/],
  [
    'a number beyond the stored range',
    rows('2147483648,0,1.7,9000'),
    '/rows/0/number',
    /from 0 to 2147483647/,
  ],
  [
    'numbers that fall',
    rows('2,0,1.7,', '1,1.7,3.4,'),
    '/rows/1/number',
    'stroke 1 on line 3 lies ahead of stroke 2 on line 2: stroke numbers must rise along the drive',
  ],
  [
    'an end not ahead',
    rows('1,1.7,1.7,9000'),
    '/rows/0/toM',
    '1.700 does not lie ahead of 1.700: driven metres must rise',
  ],
  [
    'beyond the drive',
    rows('30,999,1000.001,9000'),
    '/rows/0/toM',
    /2\+200\.001 lies beyond the end of the drive at 2\+200\.000/,
  ],
  [
    'behind the drive',
    rows('1,-0.001,1.7,9000'),
    '/rows/0/fromM',
    /1\+199\.999 lies behind the start of the drive at 1\+200\.000/,
  ],
  ['four decimals', rows('1,0,1.7001,9000'), '/rows/0/toM', /at most three decimals/],
  ['a hundredth of a millimetre more', rows('1,0,1.70001,9000'), '/rows/0/toM', /at most three decimals/],
  ['a tenth of a millimetre less', rows('1,0,1.6999,9000'), '/rows/0/toM', /at most three decimals/],
  ['a decimal comma', rows('1,0.0,"1,7",9000'), '/rows/0/toM', /toM is "1,7"; it must be a decimal number/],
  [
    'a decimal comma in a reading',
    rows('1,0,1.7,"9000,5"'),
    '/rows/0/thrustKn',
    /no decimal comma and no thousands separator/,
  ],
  [
    'a thousands separator',
    rows('1,0,1.7,"9,000.5"'),
    '/rows/0/thrustKn',
    /no decimal comma and no thousands separator/,
  ],
  ['not a number', rows('1,0,1.7,NaN'), '/rows/0/thrustKn', /thrustKn is "NaN"; it must be a number/],
  ['an invalid position', rows('1,NaN,1.7,'), '/rows/0/fromM', /fromM is "NaN"/],
  [
    'beyond all numbers',
    rows('1,0,1.7,1e999'),
    '/rows/0/thrustKn',
    'thrustKn is 1e999; it must be 0, or from 0.000001 to 1000000',
  ],
  [
    'below 0',
    rows('1,0,1.7,-1'),
    '/rows/0/thrustKn',
    'thrustKn is -1; it must be 0, or from 0.000001 to 1000000',
  ],
  [
    'a factor that takes it out of range',
    { map: { ...MAP, thrustKn: { column: 'Thrust [kN]', factor: 1000 } } },
    '/rows/0/thrustKn',
    'thrustKn is 9000000; it must be 0, or from 0.000001 to 1000000',
  ],
  [
    'one metre twice',
    rows('1,0,1.7,', '2,1.6,3.3,'),
    '/rows/1/fromM',
    'stroke 2, 1.600 to 3.300, overlaps stroke 1 on line 2, 0.000 to 1.700: 0.100 m twice',
  ],
  [
    'one time of two',
    timed('1,0,1.7,,2027-03-01T06:00:00Z,'),
    '/rows/0/endedAt',
    'the row gives startedAt without endedAt: give both or neither',
  ],
  [
    'an end before the start',
    timed('1,0,1.7,,2027-03-01T06:00:00Z,2027-03-01T06:00:00Z'),
    '/rows/0/endedAt',
    /not after its start/,
  ],
  [
    'times that fall',
    timed(
      '1,0,1.7,,2027-03-01T06:00:00Z,2027-03-01T06:40:00Z',
      '2,1.7,3.4,,2027-03-01T06:30:00Z,2027-03-01T06:50:00Z',
    ),
    '/rows/1/startedAt',
    /stroke 2 on line 3 lies ahead of stroke 1 on line 2, but its boring began 10 minutes before/,
  ],
];

const STANDING: Case[] = [
  [
    'another value of an imported stroke',
    rows('20,34,35.7,9001'),
    '/rows/0/thrustKn',
    'stroke 20 of an import has thrustKn 9000; the table has 9001',
  ],
  [
    'another place of an imported stroke',
    rows('20,34,35.8,9000'),
    '/rows/0/toM',
    'stroke 20 of an import has toM 35.700; the table has 35.800',
  ],
  [
    'no times for a stroke of a shift',
    rows('10,17,18.7,'),
    '/rows/0/startedAt',
    'stroke 10 of shift 2027-03-01 day has startedAt 2027-03-01T07:00:00Z; the table has none',
  ],
  [
    'metres of an imported stroke',
    rows('19,32.4,34.1,'),
    '/rows/0/fromM',
    'stroke 19, 32.400 to 34.100, overlaps stroke 20 of an import, 34.000 to 35.700: 0.100 m twice',
  ],
  [
    'metres of a stroke of a shift',
    rows('11,18,19.7,'),
    '/rows/0/fromM',
    'stroke 11, 18.000 to 19.700, overlaps stroke 10 of shift 2027-03-01 day, 17.000 to 18.700: 0.700 m twice',
  ],
  [
    'a number that falls',
    rows('9,18.7,20.4,'),
    '/rows/0/number',
    'stroke 9 on line 2 lies ahead of stroke 10 of shift 2027-03-01 day: stroke numbers must rise along the drive',
  ],
  [
    'a time that falls',
    timed('11,18.7,20.4,,2027-03-01T07:30:00Z,2027-03-01T08:00:00Z'),
    '/rows/0/startedAt',
    /began 10 minutes before that one ended/,
  ],
  [
    'a stroke of a shift, replace or not',
    { file: csv(['10,17,18.7,9000']), fields: { replace: 'true' } },
    '/rows/0/thrustKn',
    /stroke 10 of shift 2027-03-01 day has thrustKn none; the table has 9000/,
  ],
];

describe('a table is refused whole, with the reason, for', () => {
  describe('a row in itself', () => {
    it.each(ROW)('%s', (_name, sent, pointer, detail) => expectFault(app, sent, 422, pointer, detail));
  });
  describe('what is on the drive', () => {
    it.each(STANDING)('%s', (_name, sent, pointer, detail) => expectFault(app, sent, 409, pointer, detail));
  });

  it.each([[...ROW, ...STANDING].map(([, sent]) => sent)])(
    'none of these in a dry run, whose report names them',
    async (...sent) => {
      for (const one of sent) {
        const { status, body } = await upload(app, { ...one, fields: { ...one.fields, dryRun: 'true' } });
        expect([status, body.dryRun, body.rejected > 0]).toEqual([200, true, true]);
      }
    },
  );
});

describe('the report of a refused table', () => {
  it('names every error of every row, at the row and its line', async () => {
    const { body } = await upload(app, rows('1,0,1.7,9000', 'x,1.7,3.4,-1', '3,3.4'));
    expect(body.detail).toBe('2 of 3 rows rejected, nothing was written; see errors');
    expect(
      body.errors.map(({ pointer, value }: { pointer: string; value: unknown }) => [pointer, value]),
    ).toEqual([
      ['/rows/1/number', 'x'],
      ['/rows/1/thrustKn', '-1'],
      ['/rows/2', undefined],
    ]);
  });

  it('counts the metres of the other rows', async () => {
    const file = csv(['1,0,1.7,9000', '20,34,35.7,9001']);
    const { body } = await upload(app, { file, fields: { dryRun: 'true' } });
    expect([body.created, body.rejected, body.lengthM]).toEqual([1, 1, '1.700']);
  });

  it('numbers the lines as in the file, over rows of two lines and blank ones', async () => {
    const file = `${HEAD}\r\n1,0,1.7,"9000\r\n"\r\n\r\n,,,\r\nx,1.7,3.4,\r\n`;
    const { body } = await upload(app, { file, fields: { dryRun: 'true' } });
    expect(body.rows.map(({ line, outcome }: { line: number; outcome: string }) => [line, outcome])).toEqual([
      [2, 'created'],
      [6, 'rejected'],
    ]);
  });

  it('lists at most a hundred errors, and says how many there are', async () => {
    const many = Array.from({ length: 1500 }, (_, index) => `${index},x,x,`);
    const { body } = await upload(app, { file: csv(many) });
    expect(body.errors).toHaveLength(100);
    expect(body.detail).toBe(
      '1500 of 1500 rows rejected, nothing was written; see errors, the first 100 of 3000 faults',
    );
  });
});
