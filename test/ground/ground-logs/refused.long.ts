import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { LOG, Q_INPUT, RMR_INPUT, URL } from './logs.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const q = (more: object): object => ({ ...LOG, q: { ...Q_INPUT, ...more } });
const rmr = (more: object, log: object = {}): object => ({ ...LOG, ...log, rmr: { ...RMR_INPUT, ...more } });
const DETAILED = {
  persistenceM: 1,
  apertureMm: 0,
  roughness: 'rough',
  infilling: 'none',
  weathering: 'fresh',
};

/** [what is wrong, the log, where the fault is, expected message] */
const FAULTS: [string, object, string, string | RegExp][] = [
  [
    'a place without length',
    { ...LOG, to: LOG.from },
    '/to',
    '1+210 does not lie ahead of 1+210: the drive runs with rising chainage',
  ],
  [
    'a place behind the drive',
    { ...LOG, from: '1+199' },
    '/from',
    /lies behind the start of the drive at 1\+200/,
  ],
  [
    'a place beyond the drive',
    { ...LOG, to: '2+200.001' },
    '/to',
    /lies beyond the end of the drive at 2\+200/,
  ],
  ['a face beyond the drive', { ...LOG, faceChainage: '2+201' }, '/faceChainage', /lies beyond the end/],
  ['nobody who mapped it', { ...LOG, mappedBy: undefined }, '/mappedBy', 'mappedBy is missing'],
  ['a nameless mapper', { ...LOG, mappedBy: '' }, '/mappedBy', 'mappedBy is missing'],
  ['a mapper of blanks', { ...LOG, mappedBy: '  ' }, '/mappedBy', 'mappedBy is missing'],
  ['a strength as text', { ...LOG, ucsMpa: '150 MPa' }, '/ucsMpa', 'ucsMpa must be a number'],
  ['an RQD above 100', { ...LOG, rqdPercent: 101 }, '/rqdPercent', /must not be greater than 100/],
  ['an RQD below 0', { ...LOG, rqdPercent: -1 }, '/rqdPercent', /must not be less than 0/],
  ['a spacing of 0', { ...LOG, jointSpacingM: 0 }, '/jointSpacingM', /must not be less than 0.001/],
  ['another state of water', { ...LOG, waterState: 'moist' }, '/waterState', /must be one of/],
  ['a field of no log', { ...LOG, colour: 'red' }, '/colour', /should not exist/],
  [
    'Q without an RQD',
    { ...q({}), rqdPercent: undefined },
    '/rqdPercent',
    'rqdPercent is missing: Q needs the RQD',
  ],
  [
    'an unknown edition of Q',
    q({ edition: 'q-1999' }),
    '/q/edition',
    'edition q-1999 is not an edition of Q; known are q-1974, q-1974.2, q-2013, q-2013.2',
  ],
  ['an edition of another rating', q({ edition: 'rmr-1989' }), '/q/edition', /is not an edition of Q/],
  [
    'an unknown row',
    q({ jn: { row: 'K' } }),
    '/q/jn/row',
    'jn has no row K: its rows are A, B, C, D, E, F, G, H, J (q-2013)',
  ],
  ['a row of another edition', q({ ja: { row: 'R', value: 15 } }), '/q/ja/row', /^ja has no row R/],
  [
    'a value beyond its row',
    q({ ja: { row: 'J', value: 13 } }),
    '/q/ja/value',
    'ja 13 does not lie in row J, which runs from 8 to 12 (q-2013)',
  ],
  [
    'a value of the other edition',
    q({ edition: 'q-1974', srf: { row: 'L', value: 50 } }),
    '/q/srf/value',
    'srf 50 does not lie in row L, which runs from 5 to 10 (q-1974)',
  ],
  [
    'a range without a value',
    q({ srf: { row: 'K' } }),
    '/q/srf/value',
    'row K of srf runs from 50 to 200: say the value (q-2013)',
  ],
  ['another value of a row', q({ jw: { row: 'B', value: 0.7 } }), '/q/jw/value', /row B, which is 0.66/],
  ['a value that is not a number', q({ jw: { row: 'B', value: 'x' } }), '/q/jw/value', /must be a number/],
  ['no row', q({ jw: {} }), '/q/jw/row', 'row is missing'],
  ['another location', q({ location: 'shaft' }), '/q/location', /must be one of/],
  ['Q as a list', { ...LOG, q: [Q_INPUT] }, '/q', /must be an object/],
  ['a factor as a list', q({ jn: [{ row: 'F' }] }), '/q/jn', /must be an object/],
  [
    'an unknown edition of RMR',
    rmr({ edition: 'rmr-1976' }),
    '/rmr/edition',
    'edition rmr-1976 is not an edition of RMR; known are rmr-1989, rmr-1989.2',
  ],
  [
    'both conditions',
    rmr({ detailedCondition: DETAILED }),
    '/rmr/condition',
    'the condition is given twice: give a row of the short table or detailedCondition, not both',
  ],
  ['no condition', rmr({ condition: undefined }), '/rmr/condition', /^the condition is missing/],
  ['an unknown condition', rmr({ condition: 'fine' }), '/rmr/condition', /^condition_short has no row fine/],
  [
    'an unknown roughness',
    rmr({ condition: undefined, detailedCondition: { ...DETAILED, roughness: 'bumpy' } }),
    '/rmr/detailedCondition/roughness',
    /^roughness has no row bumpy/,
  ],
  [
    'a negative opening',
    rmr({ condition: undefined, detailedCondition: { ...DETAILED, apertureMm: -1 } }),
    '/rmr/detailedCondition/apertureMm',
    /must not be less than 0/,
  ],
  [
    'an unknown orientation',
    rmr({ orientation: 'good' }),
    '/rmr/orientation',
    /^orientation has no row good/,
  ],
  [
    'strength without its measure',
    rmr({}, { ucsMpa: undefined }),
    '/ucsMpa',
    'ucsMpa is missing: RMR as asked for needs it',
  ],
  [
    'water without its measure',
    rmr({ groundwaterBy: 'inflow' }, { waterInflowLPerMinPer10M: null }),
    '/waterInflowLPerMinPer10M',
    /is missing/,
  ],
  ['RMR without a spacing', rmr({}, { jointSpacingM: undefined }), '/jointSpacingM', /is missing/],
  [
    'a point load that has no rating',
    rmr({ strengthBy: 'point_load' }, { pointLoadMpa: 0.9 }),
    '/pointLoadMpa',
    'pointLoadMpa 0.9 has no rating in strength_point_load, which begins at 1 MPa: rate the strength by UCS',
  ],
];

it.each(FAULTS)('%s is refused with its place, and nothing is written', async (_, log, pointer, detail) => {
  const before = await app.contents();
  const { status, body } = await app.http.put(`${URL}/ground-logs/A`).send(log);
  expect([status, body.errors]).toEqual([
    422,
    [
      expect.objectContaining({
        in: 'body',
        pointer,
        detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
      }),
    ],
  ]);
  expect(await app.contents()).toBe(before);
});

it('reports all errors at once, by GraphQL too', async () => {
  const input = {
    ...LOG,
    to: '1+200',
    q: { ...Q_INPUT, jn: { row: 'K' } },
    rmr: { ...RMR_INPUT, orientation: 'x' },
  };
  const query = `mutation ($input: GroundLogInput!) { putGroundLog(project: "P1", drive: "N", name: "A", input: $input) { name } }`;
  const { body } = await app.http.post('/graphql').send({ query, variables: { input } });
  const { status, errors } = body.errors[0].extensions as { status: number; errors: { pointer: string }[] };
  expect([status, errors.map(({ pointer }) => pointer)]).toEqual([
    422,
    ['/to', '/q/jn/row', '/rmr/orientation'],
  ]);
});

it('a name that is not a code, and a drive that does not exist, are refused', async () => {
  expect((await app.http.put(`${URL}/ground-logs/GL%20A`).send(LOG)).body.errors[0]).toMatchObject({
    in: 'path',
    pointer: '/name',
  });
  const { status, body } = await app.http.put('/v1/projects/P1/drives/X/ground-logs/A').send(LOG);
  expect([status, body.detail]).toEqual([404, 'There is no drive X in project P1.']);
});

it('a drive with ground logs keeps its start, and cannot end before them', async () => {
  expect((await app.http.put(`${URL}/ground-logs/A`).send(LOG)).status).toBeLessThan(300);
  const drive = {
    name: 'T',
    startChainage: '1+200',
    endChainage: '2+200',
    direction: 1,
    boredDiameterM: '7',
  };
  const moved = await app.http.put(URL).send({ ...drive, startChainage: '1+190' });
  expect([moved.status, moved.body.detail]).toEqual([
    409,
    'start chainage and direction cannot change: the drive has ground logs',
  ]);
  const cut = await app.http.put(URL).send({ ...drive, endChainage: '1+222' });
  expect([cut.status, cut.body.detail]).toEqual([
    409,
    'the drive cannot end before 1+222.500, which a ground log reaches',
  ]);
});
