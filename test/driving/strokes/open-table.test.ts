import { readFileSync } from 'node:fs';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { OPEN_TABLE, openMap, publishedRows, STROKES, upload } from './tables.js';

type Statistic = 'mean' | 'median';

const file = readFileSync(OPEN_TABLE.file);
let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

beforeEach(() => app.sql('delete from boring'));

const byRest = async (statistic: Statistic) => {
  const fields = { closeGaps: '0.010' };
  const { status, body } = await upload(app, { file, map: openMap(statistic), fields });
  expect(status).toBe(200);
  return body;
};

interface Stored {
  number: number;
  torque_ratio: number;
  regular_advance: boolean;
}

describe('the open stroke table with its published columns', () => {
  it.each<[Statistic]>([['mean'], ['median']])(
    'has the published metres, ratios and classes, by %s',
    async (statistic) => {
      const report = await byRest(statistic);
      expect(report).toMatchObject({
        dryRun: false,
        created: OPEN_TABLE.strokes,
        unchanged: 0,
        rejected: 0,
        lengthM: OPEN_TABLE.metres,
      });
      const [sums] = await app.sql(
        `select count(*)::int as strokes, sum(length_m)::text as metres, count(*) filter (where regular_advance)::int as regular,
           count(*) filter (where not regular_advance)::int as exceptional from report.stroke`,
      );
      const [regular, exceptional] = OPEN_TABLE[statistic];
      expect(sums).toEqual({ strokes: OPEN_TABLE.strokes, metres: OPEN_TABLE.metres, regular, exceptional });

      const stored = await app.sql<Stored>(
        'select stroke_number as number, torque_ratio, regular_advance from report.stroke order by stroke_number',
      );
      const published = publishedRows();
      expect(stored.map(({ number }) => number)).toEqual(
        published.map((row) => Number(row['Stroke number [-]'])),
      );
      const differing = stored.filter(({ torque_ratio, regular_advance }, index) => {
        const row = published[index] ?? {};
        const near = Math.abs(torque_ratio - Number(row[`torque ratio [-] ${statistic}`])) <= 1e-9;
        return !near || regular_advance !== (row[`advance class ${statistic}`] === '0');
      });
      expect(differing).toEqual([]);
    },
  );
});

describe('the open stroke table', () => {
  it('has its gaps closed row by row, and says so', async () => {
    const { rows } = await byRest('mean');
    expect(rows[0]).toEqual({
      line: 2,
      key: '0',
      outcome: 'created',
      faults: [],
      changes: [],
      notes: ['to 1.690 moved to 1.700: 0.010 m gap closed'],
    });
    const closed = rows.filter(({ notes }: { notes: string[] }) => notes.join().includes('gap closed'));
    expect(closed).toHaveLength(OPEN_TABLE.closed);
    expect(rows.at(-1)).toMatchObject({
      line: OPEN_TABLE.strokes + 1,
      key: '588',
      outcome: 'created',
      notes: [],
    });
  });

  it('is read at the millimetre that its binary positions represent, and says so', async () => {
    const { rows } = await byRest('mean');
    const stroke58 = rows.find(({ key }: { key: string }) => key === '58');
    expect(stroke58.notes[0]).toMatch(/^fromM 98\.59999999999999 read as 98\.600/);
    const [boring] = await app.sql('select from_m::text from boring where stroke_number = 58');
    expect(boring).toEqual({ from_m: '98.600' });
  });

  it('shows its gaps as open items when they are not closed', async () => {
    const { body } = await upload(app, { file, map: openMap('mean') });
    expect(body).toMatchObject({ created: OPEN_TABLE.strokes, rejected: 0 });
    const [first] = await app.sql(
      `select stroke_number, missing_m::text from report.open_item where kind = 'metres_missing' order by from_m limit 1`,
    );
    expect(first).toEqual({ stroke_number: 1, missing_m: '0.010' });
  });

  it('counts for metres and not for minutes: its strokes have no shift and no time', async () => {
    await byRest('mean');
    const [timed] = await app.sql<{ n: number }>(
      'select count(*)::int as n from boring where shift_id is not null or started_at is not null',
    );
    expect(timed?.n).toBe(0);
    const { body } = await app.http.get(`${STROKES}?first=1`);
    expect(body.items[0]).toMatchObject({ number: 0, from: '1+200.000', to: '1+201.700', lengthM: '1.700' });
    const query = '{ drive(project: "P1", drive: "N") { strokes(first: 1) { nodes { number to } } } }';
    const graphql = await app.http.post('/graphql').send({ query });
    expect(graphql.body.errors).toBeUndefined();
    expect(graphql.body.data.drive.strokes.nodes).toEqual([{ number: 0, to: '1+201.700' }]);
  });
});
