import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../support/app.js';
import { csv, HEAD, MAP, ROWS, TIMED_HEAD, TIMED_MAP, type Upload, upload } from './tables.js';

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

type Case = [name: string, sent: Upload, pointer: string, detail: string | RegExp];

const latin = Buffer.from(csv([...ROWS.slice(0, 2), '3,3.4,5.1,Ma\xdf']), 'latin1');
const rows = (...more: string[]): Upload => ({ file: csv(more) });
const timed = (...more: string[]): Upload => ({ file: csv(more, TIMED_HEAD), map: TIMED_MAP });
const mapped = (map: Record<string, unknown>): Upload => ({ map: { ...MAP, ...map } });

const FILE: Case[] = [
  ['empty', { file: '' }, '/file', 'the file is empty'],
  ['blank lines only', { file: '\n\n' }, '/file', 'the file is empty'],
  ['a heading row only', { file: `${HEAD}\n` }, '/file', 'the table has a heading row and no strokes'],
  ['not UTF-8', { file: latin }, '/file', /not UTF-8, from line 4 on/],
  ['UTF-16', { file: Buffer.from(csv(), 'utf16le') }, '/file', /zero bytes/],
  [
    'a quotation mark never closed',
    rows('1,0,1.7,9000', '2,1.7,"3.4,9000', '3,3.4,5.1,'),
    '/file',
    'line 3: a quotation mark is opened and never closed',
  ],
  [
    'text after a quotation mark',
    rows('1,0,"1.7"x,9000'),
    '/file',
    'line 2: text follows a closing quotation mark',
  ],
  [
    'a heading twice',
    { file: csv(ROWS, 'No,From [m],To [m],No') },
    '/file',
    'the heading "No" stands twice, in columns 1 and 4',
  ],
  [
    'another delimiter',
    { file: csv().replaceAll(',', ';') },
    '/delimiter',
    /with comma as the delimiter the heading row is one column; it holds a semicolon/,
  ],
  ['an unknown delimiter', { fields: { delimiter: 'x' } }, '/delimiter', /must be , ; \| or a tab/],
  ['gaps over the limit', { fields: { closeGaps: '0.101' } }, '/closeGaps', /from 0 to 0\.100 m/],
  ['gaps below a millimetre', { fields: { closeGaps: '0.0105' } }, '/closeGaps', /three decimals/],
  ['a flag that is none', { fields: { dryRun: 'perhaps' } }, '/dryRun', 'dryRun must be true or false'],
];

const MAPS: Case[] = [
  ['not JSON', { map: '{"number":' }, '/map', /^the map is not JSON/],
  ['a list', { map: '["No"]' }, '/map', /must be a JSON object/],
  [
    'an unknown field',
    mapped({ thrust: 'Thrust [kN]' }),
    '/map/thrust',
    /^thrust is not a field of a stroke; the fields are number, fromChainage, fromM,/,
  ],
  [
    'a column that is not there',
    mapped({ torqueKnm: 'Torque' }),
    '/map/torqueKnm',
    'the table has no column "Torque"; its columns are "No", "From [m]", "To [m]", "Thrust [kN]"',
  ],
  [
    'both metres and chainage',
    mapped({ fromChainage: 'From [m]' }),
    '/map/fromM',
    'the map holds both fromChainage and fromM: keep one',
  ],
  [
    'neither',
    mapped({ toM: undefined }),
    '/map/toM',
    'the map holds neither toChainage nor toM: it needs one',
  ],
  ['no number', mapped({ number: undefined }), '/map/number', /does not say which column holds the number/],
  [
    'a start without an end',
    mapped({ startedAt: 'No' }),
    '/map/endedAt',
    'the map holds startedAt without endedAt: give both or none',
  ],
  [
    'a factor on a position',
    mapped({ fromM: { column: 'From [m]', factor: 1000 } }),
    '/map/fromM',
    /fromM takes no factor/,
  ],
  [
    'a factor of 0',
    mapped({ thrustKn: { column: 'Thrust [kN]', factor: 0 } }),
    '/map/thrustKn',
    'the factor of thrustKn must be a number above 0',
  ],
  [
    'a misspelt factor',
    mapped({ thrustKn: { column: 'Thrust [kN]', faktor: 2 } }),
    '/map/thrustKn',
    /thrustKn has "faktor"/,
  ],
];

const ROW: Case[] = [
  [
    'too few columns',
    rows('1,0,1.7,9000', '2,1.7,3.4'),
    '/rows/1',
    'line 3 has 3 columns, but the heading row has 4',
  ],
  ['too many columns', rows('1,0,1.7,9000,1'), '/rows/0', 'line 2 has 5 columns, but the heading row has 4'],
  ['a field that is missing', rows('1,,1.7,9000'), '/rows/0/fromM', 'fromM is missing'],
  [
    'a number twice',
    rows(...ROWS, '3,5.1,6.8,'),
    '/rows/3/number',
    'stroke 3 is listed twice, on lines 4 and 5',
  ],
  ['a number with decimals', rows('1.5,0,1.7,9000'), '/rows/0/number', /must be a whole number/],
  ['a number beyond what is kept', rows('2147483648,0,1.7,9000'), '/rows/0/number', /from 0 to 2147483647/],
  [
    'numbers that fall',
    rows('2,0,1.7,', '1,1.7,3.4,'),
    '/rows/1/number',
    'stroke 1 on line 3 lies ahead of stroke 2 on line 2: stroke numbers rise along the drive',
  ],
  [
    'an end not ahead',
    rows('1,1.7,1.7,9000'),
    '/rows/0/toM',
    '1.700 does not lie ahead of 1.700: driven metres rise',
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
  ['four decimals', rows('1,0,1.7001,9000'), '/rows/0/toM', /three decimals at most/],
  ['a hundredth of a millimetre more', rows('1,0,1.70001,9000'), '/rows/0/toM', /three decimals at most/],
  ['a tenth of a millimetre less', rows('1,0,1.6999,9000'), '/rows/0/toM', /three decimals at most/],
  ['a decimal comma', rows('1,0,"1,7",9000'), '/rows/0/toM', /metres is "1,7"; it must be a decimal number/],
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
  ['a position that is none', rows('1,NaN,1.7,'), '/rows/0/fromM', /metres is "NaN"/],
  [
    'beyond all numbers',
    rows('1,0,1.7,1e999'),
    '/rows/0/thrustKn',
    'thrustKn is 1e999; it must be from 0 to 1000000',
  ],
  ['below 0', rows('1,0,1.7,-1'), '/rows/0/thrustKn', 'thrustKn is -1; it must be from 0 to 1000000'],
  [
    'a factor that takes it out of range',
    { map: { ...MAP, thrustKn: { column: 'Thrust [kN]', factor: 1000 } } },
    '/rows/0/thrustKn',
    'thrustKn is 9000 × 1000; it must be from 0 to 1000000',
  ],
  [
    'one metre twice',
    rows('1,0,1.7,', '2,1.6,3.3,'),
    '/rows/1/fromM',
    'stroke 2, 1.600 to 3.300, meets stroke 1 on line 2, 0.000 to 1.700: 0.100 m twice',
  ],
  [
    'a moment without offset',
    timed('1,0,1.7,,2027-03-01T06:00,2027-03-01T06:40:00Z'),
    '/rows/0/startedAt',
    /not a moment with its offset/,
  ],
  [
    'one time of two',
    timed('1,0,1.7,,2027-03-01T06:00:00Z,'),
    '/rows/0/endedAt',
    'the row gives startedAt without endedAt: give both or none',
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
    'stroke 20 of an import stands with thrustKn 9000; the table says 9001',
  ],
  [
    'another place of an imported stroke',
    rows('20,34,35.8,9000'),
    '/rows/0/toM',
    'stroke 20 of an import stands with toM 35.700; the table says 35.800',
  ],
  [
    'no times for a stroke of a shift',
    rows('10,17,18.7,'),
    '/rows/0/startedAt',
    'stroke 10 of shift 2027-03-01 day stands with startedAt 2027-03-01T07:00:00Z; the table says none',
  ],
  [
    'metres of an imported stroke',
    rows('19,32.4,34.1,'),
    '/rows/0/fromM',
    'stroke 19, 32.400 to 34.100, meets stroke 20 of an import, 34.000 to 35.700: 0.100 m twice',
  ],
  [
    'metres of a stroke of a shift',
    rows('11,18,19.7,'),
    '/rows/0/fromM',
    'stroke 11, 18.000 to 19.700, meets stroke 10 of shift 2027-03-01 day, 17.000 to 18.700: 0.700 m twice',
  ],
  [
    'a number that falls',
    rows('9,18.7,20.4,'),
    '/rows/0/number',
    'stroke 9 on line 2 lies ahead of stroke 10 of shift 2027-03-01 day: stroke numbers rise along the drive',
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
    /stroke 10 of shift 2027-03-01 day stands with thrustKn none; the table says 9000/,
  ],
];

const expectFault = async (sent: Upload, status: number, pointer: string, detail: string | RegExp) => {
  const response = await upload(app, sent);
  expect([response.status, response.headers['content-type']]).toEqual([
    status,
    expect.stringContaining('application/problem+json'),
  ]);
  const fault = response.body.errors.find((error: { pointer: string }) => error.pointer === pointer);
  if (typeof detail === 'string') expect(fault?.detail).toBe(detail);
  else expect(fault?.detail).toMatch(detail);
};

describe('a table is refused whole, the fault named, for', () => {
  describe('a file or an option', () => {
    it.each(FILE)('%s', (_name, sent, pointer, detail) => expectFault(sent, 422, pointer, detail));
  });
  describe('a map', () => {
    it.each(MAPS)('%s', (_name, sent, pointer, detail) => expectFault(sent, 422, pointer, detail));
  });
  describe('a row in itself', () => {
    it.each(ROW)('%s', (_name, sent, pointer, detail) => expectFault(sent, 422, pointer, detail));
  });
  describe('what stands on the drive', () => {
    it.each(STANDING)('%s', (_name, sent, pointer, detail) => expectFault(sent, 409, pointer, detail));
  });

  it.each([[...ROW, ...STANDING].map(([, sent]) => sent)])(
    'none of these in a dry run, whose report tells them',
    async (...sent) => {
      for (const one of sent) {
        const { status, body } = await upload(app, { ...one, fields: { ...one.fields, dryRun: 'true' } });
        expect([status, body.dryRun, body.rejected > 0]).toEqual([200, true, true]);
      }
    },
  );

  it('a file over 20 MB', async () => {
    const { status, body } = await upload(app, { file: Buffer.alloc(20 * 1024 * 1024 + 1, 'a') });
    expect([status, body.errors[0].pointer, body.detail]).toEqual([
      413,
      '/file',
      'file is larger than 20 MB',
    ]);
  });

  it('a drive that is not there', async () => {
    const { status } = await upload(app, { url: '/v1/projects/P1/drives/X/strokes' });
    expect(status).toBe(404);
  });

  it('parts that are missing, unknown or given twice', async () => {
    const post = () => app.http.post('/v1/projects/P1/drives/N/strokes/import');
    const pointers = async (request: ReturnType<typeof post>) => {
      const { status, body } = await request;
      return [status, ...body.errors.map(({ pointer }: { pointer: string }) => pointer)];
    };
    const map = JSON.stringify(MAP);
    expect(await pointers(post().field('map', map))).toEqual([422, '/file']);
    expect(await pointers(post().field('map', map).field('file', csv()))).toEqual([422, '/file']);
    expect(await pointers(post().attach('file', Buffer.from(csv()), 'a.csv'))).toEqual([422, '/map']);
    expect(await pointers(upload(app, { fields: { drive: 'N' } }))).toEqual([422, '/drive']);
    expect(await pointers(upload(app, { fields: { map } }))).toEqual([422, '/map']);
  });

  it('another content type; and forms are refused where none is taken', async () => {
    const json = await app.http.post('/v1/projects/P1/drives/N/strokes/import').send({ map: MAP });
    expect([json.status, json.headers['content-type']]).toEqual([
      415,
      expect.stringContaining('problem+json'),
    ]);
    const form = await app.http.put('/v1/projects/P1').field('name', 'Trial');
    expect(form.status).toBe(415);
  });
});

describe('of a refused table', () => {
  it('every fault of every row is told, at the row and its line', async () => {
    const { body } = await upload(app, rows('1,0,1.7,9000', 'x,1.7,3.4,-1', '3,3.4'));
    expect(body.detail).toBe('2 of 3 rows rejected, nothing was written; see errors');
    expect(
      body.errors.map(({ pointer, value }: { pointer: string; value: unknown }) => [pointer, value]),
    ).toEqual([
      ['/rows/1/number', 'x'],
      ['/rows/1/thrustKn', '-1'],
      ['/rows/2', 2],
    ]);
  });

  it('the lines are those of the file, over rows of two lines and blank ones', async () => {
    const file = `${HEAD}\r\n1,0,1.7,"9000\r\n"\r\n\r\n,,,\r\nx,1.7,3.4,\r\n`;
    const { body } = await upload(app, { file, fields: { dryRun: 'true' } });
    expect(body.rows.map(({ line, outcome }: { line: number; outcome: string }) => [line, outcome])).toEqual([
      [2, 'created'],
      [6, 'rejected'],
    ]);
  });

  it('a thousand faults are told at the most, and how many there are', async () => {
    const many = Array.from({ length: 1500 }, (_, index) => `${index},x,x,`);
    const { body } = await upload(app, { file: csv(many) });
    expect(body.errors).toHaveLength(1000);
    expect(body.detail).toBe(
      '1500 of 1500 rows rejected, nothing was written; see errors, the first 1000 of 3000 faults',
    );
  });
});
