import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { LOG, putLog, Q_INPUT, RMR_INPUT, URL } from './logs.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

beforeEach(() => app.sql('delete from ground_log_sheet'));

afterAll(() => app.close());

const ask = async (query: string, variables: object = {}) => {
  const { body } = await app.http.post('/graphql').send({ query, variables });
  return body as { data: Record<string, Record<string, unknown>>; errors?: { message: string }[] };
};

const TELLS = {
  name: 'GL-0412',
  from: '1+210.000',
  to: '1+220.000',
  faceChainage: '1+222.500',
  lengthM: '10.000',
  mappedBy: 'Ada',
  lithology: 'Granite gneiss',
  ucsMpa: 150,
  strengthClass: 'R5',
  pointLoadMpa: 6,
  rqdPercent: 80,
  jvPerM3: 10,
  jointSpacingM: 1,
  jointFrequencyPerM: 10,
  waterInflowLPerMinPer10M: 5,
  waterPressureRatio: 0.05,
  waterState: 'damp',
  gsi: '65.0',
  remark: 'Left wall wet',
  // by hand: 80/9 · 1.5/1 · 1/1 = 13.333, good
  q: {
    edition: 'q-2013',
    location: 'normal',
    jn: { row: 'F', value: '9' },
    jr: { row: 'E', value: '1.5' },
    ja: { row: 'B', value: '1' },
    jw: { row: 'A', value: '1' },
    srf: { row: 'G', value: '1' },
    jrSpacingAbove3M: false,
    rqdPercent: 80,
    rqdRaised: false,
    jnCounted: 9,
    jrCounted: 1.5,
    q: expect.closeTo(40 / 3, 9),
    qClass: 'good',
  },
  // transcribed example: 12 + 17 + 15 + 20 + 10 − 5 = 69, class II
  rmr: {
    edition: 'rmr-1989',
    strengthBy: 'ucs',
    condition: 'highly_weathered',
    detailedCondition: null,
    groundwaterBy: 'state',
    orientation: 'fair',
    strengthRating: 12,
    rqdRating: 17,
    spacingRating: 15,
    conditionRating: 20,
    groundwaterRating: 10,
    orientationRating: -5,
    rmr: 69,
    rmrClass: 'II',
  },
};

const CHOICE = '{ row value }';
const FIELDS = `name from to faceChainage lengthM mappedBy lithology ucsMpa strengthClass pointLoadMpa rqdPercent jvPerM3 jointSpacingM jointFrequencyPerM
  waterInflowLPerMinPer10M waterPressureRatio waterState gsi remark
  q { edition location jn ${CHOICE} jr ${CHOICE} ja ${CHOICE} jw ${CHOICE} srf ${CHOICE} jrSpacingAbove3M rqdPercent rqdRaised jnCounted jrCounted q qClass }
  rmr { edition strengthBy condition detailedCondition { persistenceM } groundwaterBy orientation strengthRating rqdRating spacingRating
    conditionRating groundwaterRating orientationRating rmr rmrClass }`;

describe('a ground log', () => {
  it('is put, read, listed and removed by REST', async () => {
    const whole = { ...LOG, q: Q_INPUT, rmr: RMR_INPUT };
    expect(await putLog(app, 'GL-0412', whole)).toMatchObject(TELLS);
    const { body } = await app.http.get(`${URL}/ground-logs/GL-0412`);
    expect(body).toMatchObject(TELLS);
    expect(Date.parse(body.mappedAt)).toBe(Date.parse(LOG.mappedAt));
    const { doubts, ...entry } = body;
    expect(doubts).toEqual([]);
    expect((await app.http.get(`${URL}/ground-logs`)).body).toEqual({ items: [entry], next: null });
    expect((await app.http.delete(`${URL}/ground-logs/GL-0412`)).status).toBe(204);
    const gone = await app.http.get(`${URL}/ground-logs/GL-0412`);
    expect([gone.status, gone.body.detail]).toEqual([404, 'There is no ground log GL-0412 in drive N.']);
    expect((await app.http.delete(`${URL}/ground-logs/GL-0412`)).status).toBe(404);
  });

  it('is put, read, listed and removed by GraphQL', async () => {
    const input = { ...LOG, q: Q_INPUT, rmr: RMR_INPUT };
    const put = `mutation ($input: GroundLogInput!) { log: putGroundLog(project: "P1", drive: "N", name: "GL-0412", input: $input) { ${FIELDS} } }`;
    expect(await ask(put, { input })).toEqual({ data: { log: TELLS } });
    const read = `{ drive(project: "P1", drive: "N") { groundLog(name: "GL-0412") { ${FIELDS} } groundLogs { nodes { ${FIELDS} } pageInfo { hasNextPage endCursor } } } }`;
    expect((await ask(read)).data['drive']).toEqual({
      groundLog: TELLS,
      groundLogs: {
        nodes: [TELLS],
        pageInfo: { hasNextPage: false, endCursor: expect.stringMatching(/^[\d.]+~GL-0412$/) },
      },
    });
    const remove = `mutation { gone: removeGroundLog(project: "P1", drive: "N", name: "GL-0412") }`;
    expect(await ask(remove)).toEqual({ data: { gone: true } });
    expect((await ask(remove)).errors?.[0]?.message).toBe('There is no ground log GL-0412 in drive N.');
  });

  it('has one rating, both or none, and keeps nothing of what it replaces', async () => {
    const both = await putLog(app, 'A', { ...LOG, q: Q_INPUT, rmr: RMR_INPUT });
    expect(await putLog(app, 'A', LOG)).toEqual({ ...both, q: null, rmr: null });
    expect(await putLog(app, 'A', { ...LOG, rmr: RMR_INPUT })).toMatchObject({ q: null, rmr: { rmr: 69 } });
    const bare = { from: '1+200', to: '1+200.001', mappedBy: 'Ada', mappedAt: LOG.mappedAt };
    expect(await putLog(app, 'A', bare)).toMatchObject({
      lithology: null,
      ucsMpa: null,
      gsi: null,
      rmr: null,
    });
  });

  it('says where RQD counts as 10, Jn twice or thrice, Jr by 1 more, and accepts values within ranges', async () => {
    const q = {
      ...Q_INPUT,
      edition: 'q-1974',
      location: 'intersection',
      ja: { row: 'J', value: 9 },
      srf: { row: 'L', value: '7.5' },
      jrSpacingAbove3M: true,
    };
    // by hand: RQD 4 → 10; 10/27 · 2.5/9 · 1/7.5 = 25/1822.5
    expect((await putLog(app, 'A', { ...LOG, rqdPercent: 4, q }))['q']).toMatchObject({
      ja: { row: 'J', value: '9' },
      srf: { row: 'L', value: '7.5' },
      rqdPercent: 10,
      rqdRaised: true,
      jnCounted: 27,
      jrCounted: 2.5,
      q: expect.closeTo(25 / 1822.5, 12),
      qClass: 'extremely poor',
    });
  });

  it('rates RMR by the other measures and the detailed condition', async () => {
    const rmr = {
      edition: 'rmr-1989',
      strengthBy: 'point_load',
      detailedCondition: {
        persistenceM: 2,
        apertureMm: 0.05,
        roughness: 'rough',
        infilling: 'hard_below_5mm',
        weathering: 'slight',
      },
      groundwaterBy: 'inflow',
      orientation: 'very_favourable',
    };
    // 12 for 6 MPa, 17, 15, 23 (transcribed example), 10 for 5 l/min, 0
    expect((await putLog(app, 'A', { ...LOG, rmr }))['rmr']).toMatchObject({
      condition: null,
      detailedCondition: rmr.detailedCondition,
      conditionRating: 23,
      rmr: 77,
      rmrClass: 'II',
    });
  });

  it('is listed a page at a time and by interval, along the drive', async () => {
    for (const [name, from] of [
      ['C', 0],
      ['A', 10],
      ['B', 20],
    ] as const)
      await putLog(app, name, { ...LOG, from: String(1200 + from), to: String(1210 + from) });
    const names = async (query: string): Promise<unknown> => {
      const { body } = await app.http.get(`${URL}/ground-logs?${query}`);
      return [body.items.map(({ name }: { name: string }) => name), body.next];
    };
    expect(await names('first=2')).toEqual([['C', 'A'], '10.000~A']);
    expect(await names('first=2&after=10.000~A')).toEqual([['B'], null]);
    expect(await names('from=1%2B209.999&to=1%2B220')).toEqual([['C', 'A'], null]); // half open
    expect(await names('from=1%2B209&to=1%2B230&after=0.000~C&first=1')).toEqual([['A'], '10.000~A']);
    const { status, body } = await app.http.get(`${URL}/ground-logs?after=Z`);
    expect([status, body.detail]).toEqual([
      422,
      expect.stringMatching(/^after must be the `next` of a page/),
    ]);
  });

  it('may adjoin its neighbours, and may lie ahead of what is bored', async () => {
    await putLog(app, 'A', LOG);
    await putLog(app, 'B', { ...LOG, from: '1+220', to: '2+200' });
    const before = await app.contents();
    const { status, body } = await app.http
      .put(`${URL}/ground-logs/C`)
      .send({ ...LOG, from: '1+219.999', to: '1+221' });
    expect([status, body.errors]).toEqual([
      409,
      [
        {
          in: 'body',
          pointer: '/from',
          value: '1+219.999',
          detail:
            'the log overlaps A, 1+210.000 to 1+220.000: only one log of the face may cover a place for no party in particular',
        },
        {
          in: 'body',
          pointer: '/from',
          value: '1+219.999',
          detail:
            'the log overlaps B, 1+220.000 to 2+200.000: only one log of the face may cover a place for no party in particular',
        },
      ],
    ]);
    expect(await app.contents()).toBe(before);
    await putLog(app, 'A', { ...LOG, from: '1+205' }); // its own place does not conflict
  });

  it('is read as of a moment', async () => {
    await putLog(app, 'A', { ...LOG, q: Q_INPUT });
    const at = new Date().toISOString();
    await putLog(app, 'A', { ...LOG, rqdPercent: 40, q: Q_INPUT });
    await putLog(app, 'B', { ...LOG, from: '1+230', to: '1+240' });
    const then = (await app.http.get(`${URL}/ground-logs?asOf=${at}`)).body.items;
    expect(then).toEqual([expect.objectContaining({ name: 'A', rqdPercent: 80 })]);
    expect(then[0].q.q).toBeCloseTo(40 / 3, 9);
    const query = `{ drive(project: "P1", drive: "N", asOf: "${at}") { groundLogs { nodes { name rqdPercent } } } }`;
    expect((await ask(query)).data['drive']).toEqual({
      groundLogs: { nodes: [{ name: 'A', rqdPercent: 80 }] },
    });
  });
});
