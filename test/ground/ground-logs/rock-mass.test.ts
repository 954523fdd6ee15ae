import { aProject, aDrive } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { LOG, putLog, Q_INPUT, RMR_INPUT, URL } from './logs.js';

let app: TestApp;

const SOUTH = '/v1/projects/P1/drives/S';

/** Bored to 50 m; logs over [2, 12) with both ratings, [12, 20) with Q, [20, 24) with neither, [40, 60) with RMR, partly ahead of the face. */
beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const shift = aShift().withStroke(1, '1+200', '1+250', '06:00', '10:00').build();
  expect((await app.http.put(`${URL}/shifts/2027-03-01/day`).send(shift)).status).toBe(201);
  const log = (from: number, to: number, more: object): object => ({
    ...LOG,
    from: `1+2${String(from).padStart(2, '0')}`,
    to: `1+2${String(to).padStart(2, '0')}`,
    ...more,
  });
  await putLog(app, 'A', log(2, 12, { q: Q_INPUT, rmr: RMR_INPUT })); // Q 13.33 good, RMR 69 II
  await putLog(app, 'B', log(12, 20, { rqdPercent: 66, q: Q_INPUT })); // Q 66/9 · 1.5 = 11, good
  await putLog(app, 'C', log(20, 24, {}));
  await putLog(app, 'D', log(40, 60, { rqdPercent: 30, rmr: RMR_INPUT })); // 12 + 8 + 15 + 20 + 10 − 5 = 60, III
});

afterAll(() => app.close());

type Row = Record<string, unknown>;

const cells = (rows: Row[], ...names: string[]): unknown[][] =>
  rows.map((row) => names.map((name) => row[name]));

describe('metres by class', () => {
  // By hand, for 50 m: Q good 10 + 8, not rated 4 + 10, not logged 2 + 16; RMR II 10, III 10, not rated 8 + 4, not logged 18.
  it('sum to the driven length, together with what is not rated or not logged', async () => {
    const { body } = await app.http.get(`${URL}/rock-mass`);
    expect(
      cells(body, 'rating', 'class', 'coverage', 'lengthM', 'share', 'logCount', 'lowest', 'highest'),
    ).toEqual([
      ['q', 'good', 'rated', '18.000', '0.360000', 2, expect.closeTo(11, 9), expect.closeTo(40 / 3, 9)],
      ['q', null, 'not_rated', '14.000', '0.280000', 2, null, null],
      ['q', null, 'not_logged', '18.000', '0.360000', 0, null, null],
      ['rmr', 'II', 'rated', '10.000', '0.200000', 1, 69, 69],
      ['rmr', 'III', 'rated', '10.000', '0.200000', 1, 60, 60],
      ['rmr', null, 'not_rated', '12.000', '0.240000', 2, null, null],
      ['rmr', null, 'not_logged', '18.000', '0.360000', 0, null, null],
    ]);
  });

  it('sum to each interval, the last of which ends at the face', async () => {
    const { body } = await app.http.get(`${URL}/rock-mass/intervals?lengthM=30`);
    const byQ = (body as Row[]).filter(({ rating }) => rating === 'q');
    // round chainages of 30 m: 1+200 to 1+200 is cut at 1+200 = 40 · 30, then 1+230 and 1+250.
    expect(cells(byQ, 'from', 'to', 'class', 'coverage', 'lengthM')).toEqual([
      ['1+200.000', '1+230.000', 'good', 'rated', '18.000'],
      ['1+200.000', '1+230.000', null, 'not_rated', '4.000'],
      ['1+200.000', '1+230.000', null, 'not_logged', '8.000'],
      ['1+230.000', '1+250.000', null, 'not_rated', '10.000'],
      ['1+230.000', '1+250.000', null, 'not_logged', '10.000'],
    ]);
  });

  it.each([0.7, 7, 12.5, 100, 1000])('sum to the driven length in intervals of %d m', async (length) => {
    const rows = await app.sql<Row>(
      `select rating, sum(length_m)::text as length_m, count(*) filter (where length_m <= 0)::int as empty,
        bool_and(length_m <= to_m - from_m) as within from report.rock_mass_in_intervals('P1', 'N', $1::numeric) group by rating order by rating`,
      [length],
    );
    expect(rows).toEqual([
      { rating: 'q', length_m: '50.000', empty: 0, within: true },
      { rating: 'rmr', length_m: '50.000', empty: 0, within: true },
    ]);
  });

  it('are reported by GraphQL, and as of a moment', async () => {
    const query = `{ drive(project: "P1", drive: "N") { rockMass { rating class lengthM } rockMassByInterval(lengthM: 1000) { from to rating lengthM } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive.rockMass).toHaveLength(7);
    expect(body.data.drive.rockMass[3]).toEqual({ rating: 'rmr', class: 'II', lengthM: '10.000' });
    expect(body.data.drive.rockMassByInterval[0]).toEqual({
      from: '1+200.000',
      to: '1+250.000',
      rating: 'q',
      lengthM: '18.000',
    });
    const before = new Date().toISOString();
    await putLog(app, 'E', { ...LOG, from: '1+230', to: '1+231', q: Q_INPUT });
    const lengths = async (asOf: string): Promise<unknown> =>
      cells((await app.http.get(`${URL}/rock-mass${asOf}`)).body, 'lengthM')[0];
    expect([await lengths(''), await lengths(`?asOf=${before}`)]).toEqual([['19.000'], ['18.000']]);
    expect((await app.http.delete(`${URL}/ground-logs/E`)).status).toBe(204);
  });

  it('follow the direction of a drive against the chainage', async () => {
    await aDrive(app, { drive: 'S', startChainage: '1+205', endChainage: '0+200', direction: -1 });
    const south = async () => (await app.http.get(`${SOUTH}/rock-mass`)).body;
    expect(await south()).toEqual([]); // nothing is bored
    const bore = (date: string, stroke: number, from: string, to: string) =>
      app.http
        .put(`${SOUTH}/shifts/${date}/day`)
        .send(aShift(date).withStroke(stroke, from, to, '06:00', '07:00').build());
    await bore('2027-03-01', 1, '1+205', '1+204.999');
    expect(cells(await south(), 'rating', 'lengthM')).toEqual([
      ['q', '0.001'],
      ['rmr', '0.001'],
    ]);
    await bore('2027-03-02', 2, '1+204.999', '1+195');
    const log = { ...LOG, from: '1+204', to: '1+198', faceChainage: null, q: Q_INPUT };
    expect((await app.http.put(`${SOUTH}/ground-logs/A`).send(log)).body).toMatchObject({
      from: '1+204.000',
      to: '1+198.000',
      lengthM: '6.000',
      faceChainage: null,
    });
    const { body } = await app.http.get(`${SOUTH}/rock-mass/intervals?lengthM=10`);
    const byQ = (body as Row[]).filter(({ rating }) => rating === 'q');
    expect(cells(byQ, 'from', 'to', 'coverage', 'lengthM')).toEqual([
      ['1+205.000', '1+200.000', 'rated', '4.000'],
      ['1+205.000', '1+200.000', 'not_logged', '1.000'],
      ['1+200.000', '1+195.000', 'rated', '2.000'],
      ['1+200.000', '1+195.000', 'not_logged', '3.000'],
    ]);
  });
});

describe('report.ground_log', () => {
  it('has one row per log, with everything', async () => {
    const [row] = await app.sql<Row>(`select * from report.ground_log where name = 'A'`);
    expect(row).toMatchObject({
      project_code: 'P1',
      drive_code: 'N',
      from_chainage_m: '1202.000',
      to_chainage_m: '1212.000',
      face_chainage_m: '1222.500',
      length_m: '10.000',
      strength_class: 'R5',
      q_jn_row: 'F',
      q_jn: '9',
      q_class: 'good',
      rmr: 69,
      rmr_class: 'II',
      gsi: '65.0',
    });
  });
});

describe('the rating tables', () => {
  it('are listed and reported by REST', async () => {
    const { body } = await app.http.get('/v1/rating-tables');
    expect(cells(body, 'edition', 'system', 'mark')).toEqual([
      ['q-1974', 'q', 'memory'],
      ['q-1974.2', 'q', 'memory'],
      ['q-2013', 'q', 'transcribed'],
      ['q-2013.2', 'q', 'transcribed'],
      ['rmr-1989', 'rmr', 'transcribed'],
      ['rmr-1989.2', 'rmr', 'transcribed'],
      ['isrm-1978', 'strength', 'memory'],
    ]);
    const { body: edition } = await app.http.get('/v1/rating-tables/q-2013');
    const ja = (edition.tables as { id: string; rows: Row[] }[]).find(({ id }) => id === 'ja');
    expect(ja?.rows[8]).toMatchObject({
      row: 'J',
      group: 'b. Contact before 10 cm of shear, thin filling',
      description: 'Swelling clay, < 5 mm',
      min: 8,
      max: 12,
    });
    const { body: corrected } = await app.http.get('/v1/rating-tables/q-2013.2');
    const tables = Object.fromEntries((corrected.tables as (Row & { id: string })[]).map((t) => [t.id, t]));
    expect(corrected.supersedes).toBe('q-2013');
    expect((tables['ja']?.['rows'] as Row[])[8]).toMatchObject({
      row: 'J',
      frictionMinDeg: 6,
      frictionMaxDeg: 12,
    });
    expect((tables['srf']?.['adjustments'] as Row[])[0]).toMatchObject({
      name: 'zone_influences_only',
      rows: ['A', 'B', 'C', 'D', 'E'],
      by: 'percent',
      min: 25,
      max: 50,
      mark: 'memory',
    });
    const missing = await app.http.get('/v1/rating-tables/q-1999');
    expect([missing.status, missing.body.detail]).toEqual([
      404,
      'There is no edition q-1999 of rating tables.',
    ]);
  });

  it('are listed and reported by GraphQL', async () => {
    const query = `{ ratingTables { edition } ratingTable(edition: "rmr-1989") { system tables { id unit rows { row min from above } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toBeUndefined();
    expect(body.data.ratingTables).toHaveLength(7);
    const strength = (body.data.ratingTable.tables as { id: string; unit: string; rows: Row[] }[]).find(
      ({ id }) => id === 'strength_ucs',
    );
    expect([strength?.unit, strength?.rows.at(-1)]).toEqual([
      'MPa',
      { row: 'above_250', min: 15, from: 250, above: true },
    ]);
  });
});
