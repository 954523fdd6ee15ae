import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { csv, MAP, ROWS, standing, upload, uploadLines } from './samples.js';

/** The drive runs from 1+200 to 2+200. */
let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'BACK', startChainage: '5+000', endChainage: '4+000', direction: -1 });
});

afterAll(() => app.close());

afterEach(() => app.sql('delete from machine_sample'));

const AS_SENT = [
  { at: '03-01 06:00:00.000', m: '0.000', thrust: 0, rate: 0 },
  { at: '03-01 06:00:10.000', m: '0.006', thrust: 9250, rate: 33.5 }, // 5.6 mm, to the nearest
  { at: '03-01 06:00:20.000', m: '0.010', thrust: null, rate: 40 },
];

describe('a table of samples', () => {
  it('is reported by the clock of the project', async () => {
    await app.sql(`update project set time_zone = 'Europe/Zurich'`);
    const { body } = await upload(app);
    await app.sql(`update project set time_zone = 'UTC'`);
    expect([body.from, body.to]).toEqual(['2027-03-01T07:00:00+01:00', '2027-03-01T07:00:20+01:00']);
  });

  it('is stored: times in UTC, positions to the nearest millimetre, readings by their factor', async () => {
    const { status, body } = await upload(app);
    expect([status, body]).toEqual([
      200,
      {
        taken: 3,
        known: 0,
        rejected: 0,
        from: '2027-03-01T06:00:00Z',
        to: '2027-03-01T06:00:20Z',
        rejections: [],
      },
    ]);
    expect(await standing(app)).toEqual(AS_SENT);
  });

  it('changes nothing when it is sent again; existing rows stay, new ones are added', async () => {
    await upload(app);
    expect((await upload(app)).body).toMatchObject({ taken: 0, known: 3, rejected: 0 });
    const more = ['2027-03-01T06:00:10Z,0.5,1,1,', '2027-03-01T06:00:30Z,0.02,9,33,', ROWS[2] ?? ''];
    expect((await upload(app, { file: csv(more) })).body).toMatchObject({ taken: 1, known: 2 });
    expect(await standing(app)).toEqual([
      ...AS_SENT,
      { at: '03-01 06:00:30.000', m: '0.020', thrust: 9000, rate: 33 },
    ]);
  });

  it('may have other separators, quoted cells, a byte order mark, Windows line ends and no last line end', async () => {
    const table = csv(ROWS.slice(0, 2).map((row) => row.replace(/"(.*), (.*)"/, '"$1; ""$2"""')));
    const file = `\ufeff${table.replaceAll(',', '\t').replaceAll('\n', '\r\n').trimEnd()}`;
    const map = { ...MAP, at: ' Time ' };
    expect((await upload(app, { file, map, fields: { delimiter: 'tab' } })).body).toMatchObject({ taken: 2 });
    expect(await standing(app)).toEqual(AS_SENT.slice(0, 2));
  });

  it('may give chainage, on a drive against the chainage', async () => {
    const map = { at: 'Time', chainage: 'Position [m]' };
    const file = csv(['2027-03-01T06:00:00Z,4+998.2996,0,0,', '2027-03-01T06:00:01Z,4990.5,0,0,']);
    const url = '/v1/projects/P1/drives/BACK/samples';
    expect((await upload(app, { file, map, url })).body).toMatchObject({ taken: 2 });
    expect((await standing(app)).map(({ m }) => m)).toEqual(['1.700', '9.500']);
    const { body } = await app.http.get(url);
    expect(body.items.map(({ chainage }: { chainage: string }) => chainage)).toEqual([
      '4+998.300',
      '4+990.500',
    ]);
  });

  it('of more rows than one batch is stored whole, by month', async () => {
    const start = Date.parse('2027-03-31T23:00:00Z');
    const rows = Array.from(
      { length: 12_001 },
      (_, index) => `${new Date(start + index * 1000).toISOString()},0,0,0,`,
    );
    expect((await upload(app, { file: csv(rows) })).body).toMatchObject({ taken: 12_001, rejected: 0 });
    const months = await app.sql(
      `select tableoid::regclass::text as month, count(*)::int as n from machine_sample group by 1 order by 1`,
    );
    expect(months).toEqual([
      { month: 'machine_sample_2027_03', n: 3600 },
      { month: 'machine_sample_2027_04', n: 8401 },
    ]);
  });
});

const at = (second: number): string => `2027-03-01T06:00:${String(second).padStart(2, '0')}Z`;
const OK = `${at(0)},0,0,0,`;

describe('a row is rejected and reported, the rest stored, for', () => {
  it.each([
    ['no time', ',0,0,0,', 'at is missing'],
    [
      'a time without offset',
      '2027-03-01T06:00:00,0,0,0,',
      /^at is "2027-03-01T06:00:00"; it must be a moment with its offset/,
    ],
    ['an invalid time', '2027-02-30T06:00:00Z,0,0,0,', /^at is/],
    ['a time of another century', '1970-01-01T00:00:00Z,0,0,0,', /of the years 2000 to 2099$/],
    [
      'a time that another zone moves out of it',
      '2000-01-01T00:00:00+02:00,0,0,0,',
      /of the years 2000 to 2099$/,
    ],
    ['no position', `${at(1)},,0,0,`, 'positionM is missing'],
    [
      'an invalid position',
      `${at(1)},"1,5",0,0,`,
      'positionM is "1,5"; it must be driven metres, with a decimal point',
    ],
    [
      'a position behind the drive',
      `${at(1)},-0.001,0,0,`,
      'positionM is "-0.001"; 1+199.999 lies behind the start of the drive at 1+200.000',
    ],
    [
      'a position beyond the drive',
      `${at(1)},1000.001,0,0,`,
      'positionM is "1000.001"; 2+200.001 lies beyond the end of the drive at 2+200.000',
    ],
    ['a position beyond all', `${at(1)},1e300,0,0,`, /^positionM is "1e300"/],
    ['a negative reading', `${at(1)},0,-0.1,0,`, 'thrustKn is -0.1 × 1000; it must be from 0 to 1000000'],
    [
      'an absurd reading',
      `${at(1)},0,0,1000.1,`,
      'penetrationRateMmPerMin is 1000.1; it must be from 0 to 1000',
    ],
    [
      'an invalid reading',
      `${at(1)},0,NaN,0,`,
      /^thrustKn is "NaN"; it must be a number with a decimal point, or empty/,
    ],
    ['a reading beyond all numbers', `${at(1)},0,1e999,0,`, /^thrustKn is 1e999 × 1000/],
    ['too few columns', `${at(1)},0,0,0`, 'the row has 4 columns, but the heading row has 5'],
    ['an open quotation mark', `${at(1)},0,0,0,"x`, 'a quotation mark is opened and never closed'],
    ['a quotation mark within', `${at(1)},0,0,0,x"y"`, /is inside a cell/],
    ['text after a quotation mark', `${at(1)},0,0,0,"x"y`, 'text follows a closing quotation mark'],
    ['a line without end', `${at(1)},0,0,0,${'x'.repeat(70_000)}`, 'the line is longer than 64 KB'],
  ])('%s', async (_, row, detail) => {
    const { status, body } = await upload(app, { file: csv([row, OK]) });
    expect([status, body.taken, body.rejected]).toEqual([200, 1, 1]);
    expect(body.rejections).toEqual([
      { line: 2, detail: expect.stringMatching(typeof detail === 'string' ? /./ : detail) },
    ]);
    if (typeof detail === 'string') expect(body.rejections[0].detail).toBe(detail);
    expect(await standing(app)).toHaveLength(1);
  });

  it('bytes that are not UTF-8, on that line only', async () => {
    const file = Buffer.from(csv([`${at(1)},0,0,0,Ma\xdf`, OK]), 'latin1');
    expect((await upload(app, { file })).body).toMatchObject({
      taken: 1,
      rejections: [{ line: 2, detail: 'the line is not UTF-8' }],
    });
  });

  it('an error, of which only the first hundred are listed', async () => {
    const rows = Array.from({ length: 150 }, () => ',0,0,0,');
    const { body } = await upload(app, { file: csv([OK, '', ...rows]) });
    expect([body.taken, body.rejected, body.rejections.length]).toEqual([1, 150, 100]);
    expect([body.rejections[0].line, body.rejections[99].line]).toEqual([4, 103]);
  });
});

describe('samples as lines', () => {
  it('are stored, and invalid ones reported', async () => {
    const { status, body } = await uploadLines(app, [
      { at: at(0), positionM: 0, thrustKn: 0, penetrationRateMmPerMin: 0 },
      '{"at": "2027-03-01T06:00:05Z", "positionM": 0.0',
      { at: '2027-03-01T06:00:10Z', chainage: '1+200.0056', thrustKn: 9250, penetrationRateMmPerMin: 33.5 },
      '',
      '[1]',
      { at: at(30), positionM: 0, thrust: 1 },
      { at: at(30), positionM: 0, chainage: '1+200' },
      { at: at(30), positionM: 0, thrustKn: '9000' },
      { at: 5, positionM: 0 },
      { at: at(30), positionM: {} },
      { at: at(20), positionM: '0.01', thrustKn: null, penetrationRateMmPerMin: 40 },
    ]);
    expect([status, body.taken, body.rejected]).toEqual([200, 3, 7]);
    expect(body.rejections).toEqual([
      { line: 2, detail: expect.stringMatching(/^the line is not JSON: /) },
      { line: 5, detail: 'the line must be a JSON object' },
      {
        line: 6,
        detail: expect.stringMatching(
          /^thrust is not a field of a sample; the fields are at, chainage, positionM, thrustKn,/,
        ),
      },
      { line: 7, detail: 'the sample holds both chainage and positionM: give one' },
      { line: 8, detail: 'thrustKn is "9000"; it must be a number, or absent' },
      { line: 9, detail: 'at is 5; it must be text' },
      { line: 10, detail: 'positionM is "an object"; it must be text' },
    ]);
    expect(await standing(app)).toEqual(AS_SENT);
  });
});
