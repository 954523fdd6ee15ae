import { commandScope } from '../../../src/commands/command-scope.js';
import { Database } from '../../../src/common/database/database.js';
import { inScope } from '../../../src/common/database/scope.js';
import { StrokeValuesService } from '../../../src/features/driving/stroke-values/stroke-values.service.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { csv, TIMED_HEAD, TIMED_MAP, upload } from './tables.js';

// A machine with 50 discs until 10 March 2027, 40 from then on. 12 000 kN are 240 kN per disc, then 300. Discs are rated
// 250 kN, then 320: by the old rating the later strokes would be flagged, by the new one the earlier ones would not be.

const P = '/v1/projects/P1';
const FIRST = {
  name: 'Trial machine',
  discCount: 50,
  discRadiusMm: '241.3',
  ratedDiscLoadKn: '250',
  beltCapacityTPerH: '100',
  strokeLengthM: '1.7',
};
const SECOND = { ...FIRST, discCount: 40, ratedDiscLoadKn: '320', beltCapacityTPerH: '900', revision: 'B' };
const READ = { thrustKn: 12_000, torqueKnm: 2000, rotationRpm: 6, penetrationMmPerRev: 8 };

let app: TestApp;

const put = (body: object) => app.http.put(`${P}/machines/M1`).send(body);

const post = async (
  date: string,
  name: string,
  stroke: number,
  from: string,
  to: string,
  thrustKn: number,
): Promise<void> => {
  const [start, end] = name === 'day' ? ['06:00', '07:00'] : ['+1 01:00', '+1 02:00'];
  const shift = aShift(date, name).withStroke(stroke, from, to, start, end, { ...READ, thrustKn });
  if (name === 'day') shift.withActivity('BORE', '06:00', '07:00').withActivity('MAINT', '07:00', '18:00');
  const { status, text } = await app.http.put(`${P}/drives/N/shifts/${date}/${name}`).send(shift.build());
  if (status !== 201) throw new Error(text);
};

const perDisc = async (): Promise<unknown[]> =>
  (
    await app.sql(
      `select stroke_number as n, thrust_per_disc_kn as kn from boring b join drive d on d.id = b.drive_id where d.code = 'N' order by 1`,
    )
  ).map(({ n, kn }) => [n, kn]);

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  expect((await put(FIRST)).status).toBeLessThan(300);
  const { body } = await put({ ...SECOND, validFrom: '2027-03-10' });
  expect(body).toMatchObject({ code: 'M1', validFrom: '2027-03-10', revision: 'B', discCount: 40 });
  await post('2027-03-09', 'day', 1, '1+200', '1+201.5', 13_000); // 260 kN per disc
  await post('2027-03-09', 'night', 2, '1+201.5', '1+203', 12_000); // bored on 10 March, in the shift of the 9th: 240
  await post('2027-03-10', 'day', 3, '1+203', '1+204.5', 12_000); // 300
  await post('2027-03-10', 'night', 4, '1+204.5', '1+206', 13_000); // 325
});

afterAll(() => app.close());

describe('the data of a machine', () => {
  it('apply to a boring that was bored under them', async () => {
    const expected = [
      [1, 260],
      [2, 240],
      [3, 300],
      [4, 325],
    ];
    expect(await perDisc()).toEqual(expected);
    const scope = await commandScope(app.app.get(Database), 'P1');
    expect(await inScope(scope, () => app.app.get(StrokeValuesService).rebuildAll())).toBe(0);
    expect(await perDisc()).toEqual(expected);
  });

  it('flag a stroke by the rating that was in force', async () => {
    const { body } = await app.http.get(`${P}/drives/N/strokes/flags`);
    const flags = (body as { number: number; flag: string; measured: number; limit: number }[]).filter(
      ({ flag }) => flag === 'thrust_per_disc_above_rating',
    );
    // 260 above 250, 325 above 320; 300 is below the 320 of its time.
    expect(flags.map(({ number, measured, limit }) => [number, measured, limit])).toEqual([
      [1, 260, 250],
      [4, 325, 320],
    ]);
  });

  it('give the belt capacity when the stroke was bored, and at the face', async () => {
    expect(
      await app.sql(
        `select stroke_number as n, belt_capacity_t_per_h::float8 as t from report.stroke_muck where drive_code = 'N' order by 1`,
      ),
    ).toEqual([
      { n: 1, t: 100 },
      { n: 2, t: 100 },
      { n: 3, t: 900 },
      { n: 4, t: 900 },
    ]);
    const { body } = await app.http.get(`${P}/drives/N/muck/progress`);
    expect(body.beltCapacityTPerH).toBe('900.000');
    // on the first day of the new data the old ones are no longer in force
    expect(
      await app.sql(
        `select m.belt_capacity_t_per_h::float8 as t from drive d cross join lateral report.machine_at_face(d.id) m where d.code = 'N'`,
      ),
    ).toEqual([{ t: 900 }]);
  });

  it('apply to an imported stroke by the time at which it began; the first revision to one without a time', async () => {
    await aDrive(app, { drive: 'I' });
    // The production day of 10 March begins at 06:00.
    const lines = [
      '1,0,1,12000,2027-03-10T05:00:00Z,2027-03-10T05:30:00Z',
      '2,1,2,12000,2027-03-10T06:00:00Z,2027-03-10T06:30:00Z',
      '3,2,3,12000,,',
    ];
    const { status, text } = await upload(app, {
      file: csv(lines, TIMED_HEAD),
      map: TIMED_MAP,
      url: `${P}/drives/I/strokes`,
    });
    expect([status, text]).toEqual([200, expect.anything()]);
    const rows = await app.sql(
      `select stroke_number as n, thrust_per_disc_kn as kn from boring b join drive d on d.id = b.drive_id where d.code = 'I' order by 1`,
    );
    expect(rows).toEqual([
      { n: 1, kn: 240 },
      { n: 2, kn: 300 },
      { n: 3, kn: 240 },
    ]);
    const scope = await commandScope(app.app.get(Database), 'P1');
    expect(await inScope(scope, () => app.app.get(StrokeValuesService).rebuildAll())).toBe(0);
  });

  it('are listed by their dates, and answered as of a date, by REST and GraphQL alike', async () => {
    const { body } = await app.http.get(`${P}/machines/M1/revisions`);
    expect(body).toMatchObject([
      { validFrom: null, discCount: 50 },
      { validFrom: '2027-03-10', discCount: 40 },
    ]);
    const old = await app.http.get(`${P}/machines/M1?on=2027-03-09`);
    expect(old.body).toMatchObject({ discCount: 50, ratedDiscLoadKn: '250.000' });
    const query = `{ project(project: "P1") {
      machines(on: "2027-03-09") { discCount } machineRevisions(machine: "M1") { validFrom discCount } } }`;
    const { body: answer } = await app.http.post('/graphql').send({ query });
    expect(answer.data.project).toEqual({
      machines: [{ discCount: 50 }],
      machineRevisions: [
        { validFrom: null, discCount: 50 },
        { validFrom: '2027-03-10', discCount: 40 },
      ],
    });
  });

  it('are refused under a name that is blank', async () => {
    const { status, body } = await put({ ...SECOND, validFrom: '2027-05-01', revision: ' ' });
    expect([status, body.detail]).toEqual([422, 'revision must name the revision, in one line']);
  });

  it('of a new machine begin with an undated revision', async () => {
    const { status, body } = await app.http
      .put(`${P}/machines/M9`)
      .send({ ...FIRST, validFrom: '2027-03-10' });
    expect([status, body.errors[0].detail]).toEqual([
      409,
      'machine M9 is new: first put its data without validFrom, valid from the beginning',
    ]);
    await app.http.delete(`${P}/machines/M1/revisions/2027-01-01`).expect(404);
  });
});

describe('accepted strokes', () => {
  it('are not recomputed', async () => {
    for (const state of ['submitted', 'countersigned'])
      await app.sql(
        `with who as (select set_config('drivebook.actor', $2, true))
         update shift s set state = $1::shift_state from who where s.shift_date = '2027-03-09' and s.starts_at < '2027-03-09 12:00Z'`,
        [state, `who ${state}`],
      );
    const refused = {
      status: 409,
      detail:
        'shift 2027-03-09 day in drive N is countersigned under other machine data: give the new data a validFrom after 2027-03-09',
    };
    const answered = async (body: object): Promise<unknown> => {
      const answer = await put(body);
      return { status: answer.status, detail: answer.body.errors?.[0].detail };
    };
    const before = await app.contents();
    expect(await answered({ ...FIRST, ratedDiscLoadKn: '270' })).toEqual(refused);
    expect(await answered({ ...SECOND, validFrom: '2027-03-09' })).toEqual(refused);
    expect(await app.contents()).toBe(before);
    // A figure that was absent contradicts nothing; a later revision does not affect it.
    expect(await answered({ ...FIRST, ratedTorqueKnm: '3000' })).toMatchObject({ status: 200 });
    expect(await answered({ ...SECOND, discCount: 39, validFrom: '2027-03-10' })).toMatchObject({
      status: 200,
    });
    // 12 000 / 39, 13 000 / 39.
    expect(await perDisc()).toEqual([
      [1, 260],
      [2, 240],
      [3, expect.closeTo(307.6923, 4)],
      [4, expect.closeTo(333.3333, 4)],
    ]);
    await app.http.delete(`${P}/machines/M1/revisions/2027-03-10`).expect(204);
    expect((await perDisc()).slice(2)).toEqual([
      [3, 240],
      [4, 260],
    ]);
  });
});

it('cannot be changed unnoticed by a put without validFrom where later ones exist', async () => {
  const url = `${P}/machines/M2`;
  const send = (body: object) => app.http.put(url).send(body);
  await send(FIRST);
  expect((await send({ ...FIRST, discCount: 51 })).status).toBe(200); // the only data are meant
  await send({ ...SECOND, validFrom: '2027-03-10' });
  // putting the machine back as read, without validFrom, means the latest data
  const { status, body } = await send(SECOND);
  expect([status, body.errors]).toMatchObject([409, [{ pointer: '/revision' }]]);
  const refused = await send({ ...FIRST, discCount: 52 });
  expect([refused.status, refused.body.errors]).toEqual([
    409,
    [
      {
        in: 'body',
        pointer: '/revision',
        value: null,
        detail:
          'without validFrom these replace the data of machine M2 from the beginning, and later data exist from 2027-03-10: give the intended validFrom, or name the first data by their own revision',
      },
    ],
  ]);
  expect((await send({ ...FIRST, discCount: 51 })).status).toBe(200); // nothing changes
  expect((await send({ ...FIRST, discCount: 52, revision: 'A' })).body).toMatchObject({
    discCount: 52,
    revision: 'A',
  });
  expect((await send({ ...FIRST, discCount: 53 })).status).toBe(409);
  expect((await send({ ...FIRST, discCount: 53, revision: 'A' })).status).toBe(200);
  const revisions = (await app.http.get(`${url}/revisions`)).body as { discCount: number }[];
  expect(revisions.map(({ discCount }) => discCount)).toEqual([53, 40]);
});
