import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import {
  csv,
  expectFault,
  HEAD,
  IMPORT,
  MAP,
  type RefusedCase as Case,
  ROWS,
  TIMED_HEAD,
  TIMED_MAP,
  type Upload,
  upload,
} from './tables.js';

let app: TestApp;
let before: string;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  before = await app.contents();
});

afterAll(() => app.close());

afterEach(async () => expect(await app.contents()).toBe(before));

const latin = Buffer.from(csv([...ROWS.slice(0, 2), '3,3.4,5.1,Ma\xdf']), 'latin1');
const rows = (...more: string[]): Upload => ({ file: csv(more) });
const mapped = (map: Record<string, unknown>): Upload => ({ map: { ...MAP, ...map } });

const FILE: Case[] = [
  ['empty', { file: '' }, '/file', 'the file is empty'],
  ['blank lines only', { file: '\n\n' }, '/file', 'the file is empty'],
  ['a heading row only', { file: `${HEAD}\n` }, '/file', 'the table has a heading row but no strokes'],
  [
    'not UTF-8, as declared',
    { file: latin, fields: { encoding: 'utf-8' } },
    '/file',
    /not UTF-8, from line 4 on/,
  ],
  ['bytes of no text', { file: `${csv()}\0` }, '/file', /NUL bytes/],
  [
    'a time without offset',
    { file: csv(['1,0,1.7,,2027-03-01T06:00,2027-03-01T06:40:00Z'], TIMED_HEAD), map: TIMED_MAP },
    '/timeZone',
    /^"2027-03-01T06:00" \(startedAt, line 2\) has no offset from UTC: declare timeZone/,
  ],
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
  ['a line without end', rows('1'.repeat(100_001)), '/file', 'line 2 is longer than 100000 characters'],
  [
    'a row without end',
    rows(`1,0,1.7,"${'9\n'.repeat(60_000)}"`),
    '/file',
    /^line 2: the row is longer than/,
  ],
  [
    'strokes after more blank rows than are read',
    rows(...ROWS, ...Array<string>(5000).fill(''), '4,5.1,6.8,'),
    '/file',
    'the table has more than 5000 rows: split it',
  ],
  [
    'more rows than are accepted',
    { file: csv(Array.from({ length: 5001 }, (_, index) => `${index},`)) },
    '/file',
    'the table has more than 5000 rows: split it',
  ],
  [
    'a heading twice',
    { file: csv(ROWS, `${HEAD},No`) },
    '/file',
    'the heading "No" appears twice, in columns 1 and 5',
  ],
  [
    'another delimiter',
    { file: csv().replaceAll(',', ';'), fields: { delimiter: 'comma' } },
    '/delimiter',
    /with comma as the delimiter the heading row is one column; it holds a semicolon/,
  ],
  ['an unknown delimiter', { fields: { delimiter: 'x' } }, '/delimiter', /must be , ; \| or a tab/],
  ['gaps over the limit', { fields: { closeGaps: '0.101' } }, '/closeGaps', /from 0 to 0\.100 m/],
  ['gaps below a millimetre', { fields: { closeGaps: '0.0105' } }, '/closeGaps', /three decimals/],
  ['an invalid flag', { fields: { dryRun: 'perhaps' } }, '/dryRun', 'dryRun must be true or false'],
];

const MAPS: Case[] = [
  ['not JSON', { map: '{"number":' }, '/map', /^the map is not JSON/],
  ['a list', { map: '["No"]' }, '/map', /must be a JSON object/],
  [
    'an unknown field',
    mapped({ thrust: 'Thrust [kN]' }),
    '/map/thrust',
    /^thrust is not a field of this kind; the fields are number, from, fromM,/,
  ],
  [
    'a column that does not exist',
    mapped({ torqueKnm: 'Torque' }),
    '/map/torqueKnm',
    'the table has no column "Torque"; its columns are "No", "From [m]", "To [m]", "Thrust [kN]"',
  ],
  [
    'both metres and chainage',
    mapped({ from: 'From [m]' }),
    '/file',
    'the table has both from and fromM: keep one',
  ],
  ['neither', mapped({ toM: undefined }), '/file', 'the table has neither to nor toM: it needs one'],
  ['no number', mapped({ number: undefined }), '/file', /has no column "number"/],
  [
    'a start without an end',
    mapped({ startedAt: 'No' }),
    '/file',
    'the table has startedAt without endedAt: give both or neither',
  ],
  [
    'a factor on a time',
    mapped({ startedAt: { column: 'No', factor: 1000 } }),
    '/map/startedAt',
    /startedAt takes no unit, factor or offset/,
  ],
  [
    'a factor of 0',
    mapped({ thrustKn: { column: 'Thrust [kN]', factor: 0 } }),
    '/map/thrustKn',
    'the factor of thrustKn must be a number other than 0',
  ],
  [
    'a misspelt factor',
    mapped({ thrustKn: { column: 'Thrust [kN]', faktor: 2 } }),
    '/map/thrustKn',
    /thrustKn has "faktor"/,
  ],
];

describe('an upload is refused, with the reason, for', () => {
  describe('a file or an option', () => {
    it.each(FILE)('%s', (_name, sent, pointer, detail) => expectFault(app, sent, 422, pointer, detail));
  });
  describe('a map', () => {
    it.each(MAPS)('%s', (_name, sent, pointer, detail) => expectFault(app, sent, 422, pointer, detail));
  });

  it('a file over 20 MB', async () => {
    const { status, body } = await upload(app, { file: Buffer.alloc(20 * 1024 * 1024 + 1, 'a') });
    expect([status, body.errors[0].pointer, body.detail]).toEqual([
      413,
      '/file',
      'file is larger than 20 MB',
    ]);
  });

  it('a drive that does not exist', async () => {
    const { status } = await upload(app, { url: '/v1/projects/P1/drives/X/strokes' });
    expect(status).toBe(404);
  });

  it('parts that are missing, unknown or given twice', async () => {
    const post = () => app.http.post(IMPORT);
    const pointers = async (request: ReturnType<typeof post>) => {
      const { status, body } = await request;
      return [status, ...body.errors.map(({ pointer }: { pointer: string }) => pointer)];
    };
    const map = JSON.stringify(MAP);
    expect(await pointers(post().field('map', map))).toEqual([422, '/file']);
    expect(await pointers(post().field('map', map).field('file', csv()))).toEqual([422, '/file']);
    // without a map, not all headings are names of fields
    expect(await pointers(post().attach('file', Buffer.from(csv()), 'a.csv'))).toEqual([
      422,
      '/file',
      '/file',
    ]);
    expect(await pointers(upload(app, { fields: { drive: 'N' } }))).toEqual([422, '/drive']);
    expect(await pointers(upload(app, { fields: { map } }))).toEqual([422, '/map']);
  });

  it('another content type; and forms are refused where none is accepted', async () => {
    const json = await app.http.post(IMPORT).send({ map: MAP });
    expect([json.status, json.headers['content-type']]).toEqual([
      415,
      expect.stringContaining('problem+json'),
    ]);
    const form = await app.http.put('/v1/projects/P1').field('name', 'Trial');
    expect(form.status).toBe(415);
  });
});
