import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { SAMPLES, upload, uploadLines } from './samples.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { timeZone: 'Europe/Vienna' });
});

afterAll(() => app.close());

afterEach(() => app.sql('delete from machine_sample'));

const at = (second: number): string => `2027-03-01T06:00:${String(second).padStart(2, '0')}Z`;

describe('the samples of a drive', () => {
  it('are read in the order of time, a page at a time, from one moment to before another', async () => {
    await upload(app);
    const { body } = await app.http.get(`${SAMPLES}?first=2`);
    expect(body.items).toMatchObject([
      { chainage: '1+200.000', positionM: '0.000', thrustKn: 0, torqueKnm: null },
      { chainage: '1+200.006', positionM: '0.006', thrustKn: 9250, penetrationRateMmPerMin: 33.5 },
    ]);
    expect(Date.parse(body.next)).toBe(Date.parse(at(10)));
    const rest = await app.http.get(SAMPLES).query({ after: body.next, first: 10_000 });
    expect([rest.body.items.length, rest.body.next]).toEqual([1, null]);
    const between = await app.http.get(SAMPLES).query({ from: at(10), to: at(20) });
    expect(between.body.items).toHaveLength(1);
    const refused = await app.http.get(SAMPLES).query({ from: at(10), to: at(10) });
    expect([refused.status, refused.body.errors[0]]).toEqual([
      422,
      {
        in: 'query',
        pointer: '/to',
        value: at(10),
        detail: `to ${at(10)} does not lie after from ${at(10)}`,
      },
    ]);
    expect((await app.http.get(`${SAMPLES}?first=10001`)).status).toBe(422);
    const days = await app.http.get(`${SAMPLES}/summary?from=2027-03-02&to=2027-03-01`);
    expect([days.status, days.body.detail]).toEqual([422, 'to 2027-03-01 lies before from 2027-03-02']);
  });

  it('are found by a moment with a bare + in its offset', async () => {
    await upload(app);
    const { body } = await app.http.get(
      `${SAMPLES}?from=2027-03-01T07:00:10+01:00&to=2027-03-01T07:00:20+01:00`,
    );
    expect(body.items).toMatchObject([{ positionM: '0.006' }]);
  });

  it('are counted by production day: 06:00 in Vienna, an hour ahead of UTC', async () => {
    const moments = [
      '2027-03-01T04:59:59Z',
      '2027-03-01T05:00:00Z',
      '2027-03-02T04:59:59.999Z',
      '2027-03-05T12:00:00Z',
    ];
    await uploadLines(
      app,
      moments.map((moment) => ({ at: moment, positionM: 1 })),
    );
    const days = [
      { productionDay: '2027-02-28', count: 1 },
      { productionDay: '2027-03-01', count: 2 },
      { productionDay: '2027-03-05', count: 1 },
    ];
    const { body } = await app.http.get(`${SAMPLES}/summary`);
    expect(body).toMatchObject({ count: 4, days });
    expect([body.from, body.to].map((moment) => Date.parse(moment))).toEqual(
      [moments[0], moments[3]].map((moment) => Date.parse(moment ?? '')),
    );
    const query = `{ drive(project: "P1", drive: "N") { sampleSummary(from: "2027-03-01", to: "2027-03-04") { from count days { productionDay count } } } }`;
    const graphql = await app.http.post('/graphql').send({ query });
    expect(graphql.body.data.drive.sampleSummary).toMatchObject({ count: 2, days: days.slice(1, 2) });
  });

  it('prevent changes of the drive’s start and direction', async () => {
    await upload(app);
    const drive = {
      name: 'Trial drive',
      endChainage: '2+200',
      direction: 1,
      boredDiameterM: '7',
      machine: 'M1',
    };
    const put = (startChainage: string) =>
      app.http.put('/v1/projects/P1/drives/N').send({ ...drive, startChainage });
    const moved = await put('1+100');
    expect([moved.status, moved.body.detail]).toEqual([
      409,
      'start chainage and direction cannot change: the drive has machine samples',
    ]);
    expect((await put('1+200')).status).toBeLessThan(300);
  });

  it('are none for an empty drive', async () => {
    expect((await app.http.get(`${SAMPLES}/summary`)).body).toMatchObject({ from: null, count: 0, days: [] });
    expect((await app.http.get(SAMPLES)).body).toEqual({ items: [], next: null, retired: null });
  });
});
