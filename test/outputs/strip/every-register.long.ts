import { ZipFile } from '../../../src/common/files/zip.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { cellsOf, type Cells } from '../../payment/valuations/sheet.js';
import { groupOf, readStrip, ruler, type Strip, wordsOf } from './drawn.js';

// The strip and the workbook of a drive with entries in every register (test/builders/whole-record.ts): a log 0–10 m, a
// discontinuity at 5 m, overbreak 2–4 m, a probe hole from 29 m on, inflow over 0–10 m, a water test, a grouting round 10–30 m, a photo at 10 m.

let app: TestApp;
let drawn: Strip;
const WHOLE = '/v1/projects/ALPHA/drives/N/as-built';

beforeAll(async () => {
  app = await startApp();
  await app.sql(wholeRecord(1, 'ALPHA'));
  await app.sql(`update ground_log_sheet set gsi = 55, water_state = 'damp' where name = 'GL-ALPHA'`);
  const { body } = await app.http.get(`${WHOLE}/strip.svg?from=1000&to=1040&scale=1:200`).buffer();
  drawn = readStrip((body as Buffer).toString());
});

afterAll(() => app.close());

const track = (name: string): string[] => groupOf(drawn, `track ${name}`).texts.map(({ text }) => text);

it('draws a text of each register', () => {
  expect(track('gsi')).toEqual(['55']);
  expect(track('discontinuities')).toEqual(['J1 0/000']);
  expect(track('water')).toEqual(['damp', 'W-ALPHA: 4 l/min', 'WT-ALPHA: 12 Lu']);
  expect(track('overbreak')).toEqual(['O-ALPHA: 1.5 m³']);
  expect(track('probing')).toEqual(['H-ALPHA']);
  expect(track('grouting')).toEqual(['GR-ALPHA: 500 kg, 1 holes']);
  expect(track('photos')).toEqual(['1']);
});

it('at its place', () => {
  const { at } = ruler(drawn);
  const boxOf = (name: string): number[] => {
    const [box] = groupOf(drawn, `track ${name}`).boxes;
    return [at(box?.left ?? NaN), at(box?.right ?? NaN)];
  };
  const close = (low: number, high: number): unknown[] => [expect.closeTo(low, 2), expect.closeTo(high, 2)];
  expect(boxOf('overbreak')).toEqual(close(1002, 1004));
  expect(boxOf('grouting')).toEqual(close(1010, 1030));
  // from its collar at 29 m, 29.886 m along the axis: to the end of the sheet
  const [hole] = groupOf(drawn, 'track probing').paths;
  expect(hole?.parts[0]?.map(([x]) => at(x))).toEqual(close(1029, 1040));
  const inflow = groupOf(drawn, 'track water').paths.find(({ width }) => width === 0.4);
  expect(inflow?.parts[0]?.map(([x]) => at(x))).toEqual(close(1000, 1010));
  const photo = groupOf(drawn, 'track photos').paths[0];
  expect(at(photo?.parts[0]?.[0]?.[0] ?? NaN)).toBeCloseTo(1010, 2);
});

it('states the cautions on water, support and probing', () => {
  const words = wordsOf(groupOf(drawn, 'legend')).replaceAll('\n', ' ');
  for (const caution of [
    'Water: as observed',
    'local code decide, by inspection',
    'Probing and grouting: decision support',
  ])
    expect(words).toContain(caution);
});

describe('the workbook', () => {
  it('has a sheet for each table, whose lines add up to the views', async () => {
    const { body, headers } = await app.http
      .get(`${WHOLE}/tables.xlsx?from=1000&to=1030`)
      .responseType('blob');
    expect(headers['content-disposition']).toBe('attachment; filename="as-built-N.xlsx"');
    const names = [
      ...new ZipFile(body as Buffer, 1e6)
        .read('xl/workbook.xml')
        .toString()
        .matchAll(/<sheet name="([^"]*)"/g),
    ].map(([, name = '']) => name);
    const sheet = (name: string): Cells => cellsOf(body as Buffer, names.indexOf(name) + 1).cells;
    const column = (cells: Cells, letter: string): number[] =>
      Object.entries(cells).flatMap(([place, { value }]) =>
        new RegExp(`^${letter}\\d+$`).test(place) && value !== undefined ? [Number(value)] : [],
      );
    const views = await app.sql<{ record: string; sum: string }>(
      `select record, sum(quantity)::text as sum from report.as_built('ALPHA', 'N', 1000, 1030) group by 1 order by 1`,
    );
    expect(views).toEqual([
      { record: 'ground', sum: '10.000' },
      { record: 'stroke', sum: '20.000' },
      { record: 'support', sum: '8.000' },
    ]);
    const strokes = column(sheet('Strokes'), 'D');
    expect(strokes.slice(0, -1).reduce((sum, each) => sum + each, 0)).toBe(20);
    expect(strokes.at(-1)).toBe(20); // the last line is the sum
    expect(column(sheet('Support installed'), 'F')).toEqual([8]);
    expect(names).toEqual(
      expect.arrayContaining([
        ...[
          'Remarks by number',
          'Photos and files by number',
          'Support required and installed',
          'Grouting rounds',
        ],
        ...[
          'Class decisions',
          'Ground logs',
          'Discontinuities',
          'Overbreak',
          'Probe holes',
          'Investigations ahead',
        ],
        ...[
          'Indications ahead',
          'Encounters',
          'Inflow',
          'Water tests',
          'Strokes',
          'Ground as noted by the shifts',
        ],
      ]),
    );
    const registers = await app.sql<{ record: string; count: number }>(
      `select record, count(*)::int as count from report.as_built_register('ALPHA', 'N', 1000, 1030) where record = 'ground_log' group by 1`,
    );
    expect(registers).toEqual([{ record: 'ground_log', count: 1 }]);
    expect(sheet('Ground logs')['C4']).toEqual({ text: 'GL-ALPHA' });
  });

  it('says so where nothing is recorded', async () => {
    const { body } = await app.http.get(`${WHOLE}/tables.xlsx?from=1900&to=1910`).responseType('blob');
    const { cells } = cellsOf(body as Buffer, 1);
    expect(Object.keys(cells).length).toBeGreaterThan(0);
  });
});
