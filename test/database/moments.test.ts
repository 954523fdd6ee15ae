import { parserByOffset } from '../../src/common/database/moments.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';

// A moment is the same moment in the record, whatever the time zone of the project. PostgreSQL reads one without an offset by the time zone of the
// transaction. Expected by hand: Zurich is two hours ahead of UTC on 4 July 2025 and one on 4 January; Monrovia was 44 min 30 s behind on 4 January 1960
// (IANA time zone database).

const SENT = '2025-07-04T05:00:00.123Z';

let app: TestApp;
beforeAll(async () => {
  app = await startApp();
  await aProject(app, { timeZone: 'Europe/Zurich' }, { drive: 'S' });
});
afterAll(() => app.close());

const hole = { collar: '1+300', lookOutDeg: '5', lengthM: '20' };
const steps = [{ gaugeBar: '5', flowLPerMin: '18', durationMin: '10' }];
const by = { madeBy: 'Gerda', from: '1+300', to: '1+310' };

/** For each record written through its Prisma model: its address, a body without the moment, and the name of the moment. */
const RECORDS: [string, object, string][] = [
  ['probe-holes/P1', hole, 'drilledAt'],
  ['inflow-measurements/I1', { place: 'portal', method: 'weir', flowLPerMin: '1' }, 'measuredAt'],
  ['water-tests/W1', { hole: 'X', fromDepthM: '10', toDepthM: '13', steps }, 'testedAt'],
  [
    'grouting-rounds/R1',
    { purpose: 'pre_grouting', state: 'under_way', from: '1+300', to: '1+310' },
    'startedAt',
  ],
  ['investigations/N1', { method: 'reflection_seismic', face: '1+300', ...by }, 'madeAt'],
  [
    'encounters/E1',
    { kind: 'fractured', from: '1+200', to: '1+201', source: 'mapping', metBy: 'Gerda' },
    'metAt',
  ],
  ['ground-logs/G1', { from: '1+200', to: '1+201', mappedBy: 'Gerda' }, 'mappedAt'],
];

describe('in a project in Zurich', () => {
  test.each(RECORDS)('%s is the moment that was sent', async (path, body, moment) => {
    const url = `/v1/projects/P1/drives/S/${path}`;
    const put = (at: unknown) => app.http.put(url).send({ ...body, [moment]: at });
    const summer = await put(SENT);
    expect([summer.status, (summer.body as Record<string, unknown>)[moment]]).toEqual([
      201,
      '2025-07-04T07:00:00.123+02:00',
    ]);
    const winter = await put('2025-01-04T05:00:00Z');
    expect((winter.body as Record<string, unknown>)[moment]).toBe('2025-01-04T06:00:00+01:00');
    // What was read is sent back: nothing changes.
    const again = await app.http.put(url).send(winter.body as object);
    expect([again.status, again.body]).toEqual([200, winter.body]);
  });
});

test('an offset of odd seconds is read and written too', async () => {
  await aProject(app, { project: 'P2', timeZone: 'Africa/Monrovia' }, { drive: 'S' });
  const url = '/v1/projects/P2/drives/S/probe-holes/P1';
  await app.http.put(url).send({ ...hole, drilledAt: '1960-01-04T05:00:00Z' });
  const [row] = await app.sql<{ at: string }>(
    `select to_char(drilled_at at time zone 'UTC', 'YYYY-MM-DD HH24:MI:SS') as at from probe_hole where drilled_at < '1961-01-01'`,
  );
  expect(row?.at).toBe('1960-01-04 05:00:00');
});

// What PostgreSQL 18 gives for these moments by the time zones above.
test.each([
  ['2025-07-04 07:00:00.5+02', '2025-07-04T05:00:00.500Z'],
  ['2025-01-04 06:00:00+01', '2025-01-04T05:00:00.000Z'],
  ['1960-01-04 04:15:30-00:44:30', '1960-01-04T05:00:00.000Z'],
  ['infinity', 'infinity'],
])('a model has the moment of %s', (text, moment) => {
  const parse = parserByOffset(() => (other) => other)(1184, 'text');
  expect(parse(text)).toBe(moment);
});
