import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { until } from '../../harness/until.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const shift = aShift()
    .withStroke(1, '1+200', '1+201.7', '06:00', '06:40')
    .withStroke(2, '1+201.7', '1+203.4', '07:00', '07:40')
    .withStroke(3, '1+203.4', '1+205.1', '08:00', '08:40')
    .withGround('A', '1+200', '1+202')
    .withGround('B', '1+202', '1+205.1')
    .withSupport('BOLT', '1+200', '1+204', '8', { arcFromDeg: '300', arcToDeg: '60' })
    .withSupport('RIB', '1+202', undefined, '1')
    .withSupport('RIB', '1+203', undefined, '1')
    .build();
  const { status } = await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift);
  expect(status).toBe(201);
});

afterAll(() => app.close());

const url = '/v1/projects/P1/drives/N/as-built';

describe('the as-built record of 1+202 to 1+203', () => {
  it.each(['from=1%2B202&to=1%2B203', 'from=1203&to=1202'])(
    'contains what touches it, with the share that lies within (%s)',
    async (range) => {
      const { body } = await app.http.get(`${url}?${range}`);
      // Bolts: 8 over 4 m, so 2 per metre. The rib at 1+202 lies within, that at 1+203, at the open end, does not.
      expect(body).toMatchObject({
        from: '1+202.000',
        to: '1+203.000',
        strokes: [
          {
            number: 2,
            from: '1+201.700',
            to: '1+203.400',
            withinM: '1.000',
            date: '2027-03-01',
            shift: 'day',
            startedAt: '2027-03-01T07:00:00+00:00',
          },
        ],
        ground: [{ groundClass: 'B', from: '1+202.000', to: '1+205.100', withinM: '1.000' }],
        support: [
          {
            item: 'BOLT',
            quantityWithin: '2.000',
            unit: 'nr',
            zone: 'L1',
            arcFromDeg: '300.00',
            arcToDeg: '60.00',
          },
          { item: 'RIB', from: '1+202.000', to: '1+202.000', quantityWithin: '1.000' },
        ],
      });
      expect([body.strokes, body.ground, body.support].map((list: unknown[]) => list.length)).toEqual([
        1, 1, 2,
      ]);
      expect(body.caution).toMatch(/designer and the local code/);
    },
  );

  it('is the same by GraphQL and by SQL', async () => {
    const query = `{ drive(project: "P1", drive: "N") { asBuilt(from: "1+202", to: "1+203") { strokes { number withinM } ground { groundClass } support { item quantityWithin } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive.asBuilt).toEqual({
      strokes: [{ number: 2, withinM: '1.000' }],
      ground: [{ groundClass: 'B' }],
      support: [
        { item: 'BOLT', quantityWithin: '2.000' },
        { item: 'RIB', quantityWithin: '1.000' },
      ],
    });
    const rows = await app.sql(
      `select record, reference, quantity::text from report.as_built('P1', 'N', 1202, 1203) order by record, reference`,
    );
    expect(rows).toEqual([
      { record: 'ground', reference: 'B', quantity: '1.000' },
      { record: 'stroke', reference: '2', quantity: '1.000' },
      { record: 'support', reference: 'BOLT', quantity: '2.000' },
      { record: 'support', reference: 'RIB', quantity: '1.000' },
    ]);
  });
});

describe('an interval', () => {
  it.each([
    ['from=1%2B100&to=1%2B203', '/from', /1\+100\.000 lies behind the start of the drive/],
    ['from=1%2B202&to=2%2B201', '/to', /2\+201\.000 lies beyond the end of the drive/],
    ['from=1%2B202&to=1%2B202', '/to', /the same place/],
    ['from=1%2B202', '/to', /to is missing/],
    ['from=here&to=1%2B202', '/from', /from must be a chainage/],
  ])('%s is refused with %s named', async (range, pointer, detail) => {
    const { status, body } = await app.http.get(`${url}?${range}`);
    expect(status).toBe(422);
    expect(body.errors).toEqual([
      expect.objectContaining({ in: 'query', pointer, detail: expect.stringMatching(detail) }),
    ]);
  });
});

describe('the cover of the probe holes', () => {
  const drive = '/v1/projects/P1/drives/H';

  beforeAll(async () => {
    await aDrive(app, { drive: 'H', startChainage: '1+200', endChainage: '2+200' });
  });

  const bore = async (date: string, from: string, to: string): Promise<void> => {
    const { status } = await app.http
      .put(`${drive}/shifts/${date}/day`)
      .send(aShift(date).withStroke(1, from, to, '06:00', '07:00').build());
    expect(status).toBe(201);
  };

  const hole = async (
    name: string,
    collar: string,
    lengthM: string,
    lookOutDeg = '0',
    positionDeg: string | null = '0',
    drilledAt: string | null = '2021-03-01T05:00:00Z',
  ): Promise<void> => {
    const { status, text } = await app.http
      .put(`${drive}/probe-holes/${name}`)
      .send({ collar, lengthM, lookOutDeg, positionDeg, drilledAt });
    expect([status, text]).toEqual([status < 300 ? status : 0, text]);
  };

  const cover = async (): Promise<unknown> => {
    const { body } = await app.http.get(`${drive}/probe-cover`);
    const query = `{ drive(project: "P1", drive: "H") { probeCover { coverM probedToChainage } } }`;
    const graph = (await app.http.post('/graphql').send({ query })).body.data.drive.probeCover;
    expect(graph).toEqual({ coverM: body.coverM, probedToChainage: body.probedToChainage });
    expect(body.caution).toMatch(/local code decide/);
    return [body.coverM, body.probedToChainage];
  };

  it('runs from the face to the end of the unbroken probed length', async () => {
    expect(await cover()).toEqual(['0.000', '1+200.000']);
    // L 30 m at 5°: axial reach 29.8858 m, spread 2.6147 m (by definition, L cos θ and L sin θ).
    await hole('P1', '1+200', '30', '5');
    expect((await app.http.get(`${drive}/probe-holes/P1`)).body).toMatchObject({
      axialReachM: '29.886',
      radialSpreadM: '2.615',
      reach: '1+229.886',
    });
    expect(await cover()).toEqual(['29.886', '1+229.886']);
    await bore('2027-03-01', '1+200', '1+210');
    expect(await cover()).toEqual(['19.886', '1+229.886']);
    // A hole that begins beyond the reach of the first leaves a gap, so it does not count yet.
    await hole('P2', '1+235', '30');
    expect(await cover()).toEqual(['19.886', '1+229.886']);
    // One that overlaps both joins them.
    await hole('P3', '1+225', '12');
    expect(await cover()).toEqual(['55.000', '1+265.000']);
  });

  it('counts no hole without its position, and none that looks out beyond the limit of 12°', async () => {
    // The face at 1+210, in P1 to 1+229.886. A 30 m hole from 1+205 would carry the cover on to 1+235 and through P2 and P3.
    await hole('P3', '1+225', '12', '0', null);
    expect(await cover()).toEqual(['19.886', '1+229.886']);
    expect((await app.http.get(`${drive}/probe-holes/P3`)).body.givesCover).toBe(false);
    await hole('P3', '1+225', '12', '12.01');
    expect(await cover()).toEqual(['19.886', '1+229.886']);
    await hole('P4', '1+225', '40', '12.01', null);
    const counts = `holeCount countedHoleCount withoutPositionCount beyondLookOutLimitCount lookOutLimitDeg`;
    const query = `{ drive(project: "P1", drive: "H") { probeCover { ${counts} } probeHoles { name givesCover } } }`;
    const graph = (await app.http.post('/graphql').send({ query })).body.data.drive;
    const expected = {
      holeCount: 4,
      countedHoleCount: 2,
      withoutPositionCount: 1,
      beyondLookOutLimitCount: 2,
      lookOutLimitDeg: '12.00',
    };
    expect(graph.probeCover).toEqual(expected);
    expect((await app.http.get(`${drive}/probe-cover`)).body).toMatchObject(expected);
    expect(graph.probeHoles.filter((one: { givesCover: boolean }) => one.givesCover)).toEqual([
      { name: 'P1', givesCover: true },
      { name: 'P2', givesCover: true },
    ]);
    // At the limit a hole counts: 30 · cos 12° = 29.344 m, 1+225 to 1+254.344 and on by P2 to 1+265.
    await hole('P4', '1+225', '30', '12');
    expect(await cover()).toEqual(['55.000', '1+265.000']);
    // The drive's own limit of 4° leaves P1 at 5° without cover: no hole reaches over the face.
    const { body } = await app.http.get(drive);
    const { name, startChainage, endChainage, direction, boredDiameterM, machine } = body;
    const input = { name, startChainage, endChainage, direction, boredDiameterM, machine };
    const put = await app.http.put(drive).send({ ...input, probeLookOutLimitDeg: '4' });
    expect([put.status, put.body.probeLookOutLimitDeg]).toEqual([200, '4.00']);
    expect(await cover()).toEqual(['0.000', '1+210.000']);
  });

  it('counts no hole without a time of drilling, and none before it was drilled', async () => {
    const graph = async () =>
      (
        await app.http.post('/graphql').send({
          query: `{ drive(project: "P1", drive: "H") { probeCover { withoutTimeCount notYetDrilledCount countedHoleCount }
            openItems { kind probeHole fromChainage detail } } }`,
        })
      ).body.data.drive;
    const undated = async () =>
      (await graph()).openItems.filter(({ kind }: { kind: string }) => kind === 'probe_hole_without_time');
    expect(await undated()).toEqual([]);
    // Face 1+210; a straight hole of 40 m from 1+205 to 1+245, and on by P2 from 1+235 to 1+265: 55 m.
    await hole('P5', '1+205', '40', '0');
    expect(await cover()).toEqual(['55.000', '1+265.000']);
    await hole('P5', '1+205', '40', '0', '0', null);
    expect(await cover()).toEqual(['0.000', '1+210.000']);
    expect((await app.http.get(`${drive}/probe-holes/P5`)).body.givesCover).toBe(false);
    expect((await graph()).probeCover).toMatchObject({ withoutTimeCount: 1, notYetDrilledCount: 0 });
    expect(await undated()).toEqual([
      {
        kind: 'probe_hole_without_time',
        probeHole: 'P5',
        fromChainage: '1+205.000',
        detail: 'probe hole P5 at 1+205.000 has no time of drilling: it gives no cover and pays nothing',
      },
    ]);
    await hole('P5', '1+205', '40', '0', '0', new Date(Date.now() + 86_400_000).toISOString());
    expect(await cover()).toEqual(['0.000', '1+210.000']);
    expect((await app.http.get(`${drive}/probe-cover`)).body).toMatchObject({
      withoutTimeCount: 0,
      notYetDrilledCount: 1,
    });
    expect(await undated()).toEqual([]);
  });

  it('counts a hole by the moment requested', async () => {
    // A hole noted ahead of its time counts from that time on, from the same row: as of a moment before, and after.
    let [drilledAt, noted] = ['', ''];
    for (let aheadMs = 1000; noted >= drilledAt; aheadMs *= 2) {
      drilledAt = new Date(Date.now() + aheadMs).toISOString();
      await hole('P5', '1+205', '40', '0', '0', drilledAt);
      noted = new Date().toISOString(); // on a loaded machine this may be after it
    }
    const asOf = async (moment: string) =>
      (await app.http.get(`${drive}/probe-cover`).query({ asOf: moment })).body.coverM;
    const now = async () => (await app.http.get(`${drive}/probe-cover`)).body.coverM;
    await until(async () => (await now()) === '55.000');
    expect(((await cover()) as string[])[0]).toBe('55.000');
    expect(await asOf(noted)).toBe('0.000');
    expect(await asOf(drilledAt)).toBe('55.000');
    // the same as of a change made before the hole was drilled
    const session = await serviceSession(app.url);
    const [project] = await app.sql<{ id: number }>(`select id from project where code = 'P1'`);
    const [reading] = await takenBack(session, project?.id, async () => {
      await rowsOf(
        session,
        `select set_config('drivebook.as_of_change', max(number)::text, true) from history.change`,
      );
      return rowsOf(session, `select gives_cover from report_as_of.probe_hole_reading where name = 'P5'`);
    }).finally(() => session.end());
    expect(reading).toEqual({ gives_cover: false });
    await app.http.put(`${drive}/probe-holes/P5`).send({ collar: '1+205', lengthM: '1', lookOutDeg: '0' });
  });

  it('is 0 when the face has passed it', async () => {
    await bore('2027-03-02', '1+210', '1+270');
    expect(await cover()).toEqual(['0.000', '1+270.000']);
  });

  it.each([
    [{ collar: '3+000', lengthM: '30', lookOutDeg: '5' }, '/collar', /beyond the end/],
    [
      { collar: '1+200', lengthM: '-30', lookOutDeg: '5' },
      '/lengthM',
      /lengthM must be a number from 0\.001/,
    ],
    [
      { collar: '1+200', lengthM: '30', lookOutDeg: '90' },
      '/lookOutDeg',
      /lookOutDeg must be a number from 0 to 89\.99/,
    ],
    [
      { collar: '1+200', lengthM: '30', lookOutDeg: '5', waterDepthM: '31' },
      '/waterDepthM',
      /beyond the hole's length of 30 m/,
    ],
    [{ collar: '1+200', lengthM: '30', lookOutDeg: '5', depth: 3 }, '/depth', /should not exist/],
  ])('cannot include a hole like %j, which is refused', async (body, pointer, detail) => {
    const before = await app.contents();
    const answer = await app.http.put(`${drive}/probe-holes/X`).send(body);
    expect(answer.status).toBe(422);
    expect(answer.body.errors).toEqual([
      expect.objectContaining({ pointer, detail: expect.stringMatching(detail) }),
    ]);
    expect(await app.contents()).toBe(before);
  });
});
