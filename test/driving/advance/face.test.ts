import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { inZurich } from '../../harness/in-zurich.js';
import { anyTrial, chainageOf, insertBorings, metres, newDrive, type Trial } from './drives.js';
import { booked, isTimed, naiveFace } from './naive-face.js';
import { instant } from './season.js';
import { itOnce, runs } from '../../harness/sizes.js';

// The face over time and the advance in any window, against a naive walk in steps of a second (naive-face.ts).

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { project: 'P6', timeZone: 'Europe/Zurich', dayStart: '06:00' });
});

afterAll(() => app.close());

/** Critical seconds: ends of borings, and any others. */
const secondsOf = ({ borings, season }: Trial): fc.Arbitrary<number> =>
  fc.oneof(
    fc.nat({ max: season.minutes * 60 }),
    fc
      .tuple(
        fc.constantFrom(...borings.filter(isTimed)),
        fc.constantFrom('start', 'end'),
        fc.integer({ min: -1, max: 1 }),
      )
      .map(([boring, end, more]) => Math.max(0, (end === 'start' ? boring.start : boring.end) + more)),
  );

const trials = anyTrial(['P6']).chain((trial) => {
  const second = secondsOf(trial);
  const window = fc
    .tuple(second, second)
    .filter(([a, b]) => a !== b)
    .map(([a, b]) => [Math.min(a, b), Math.max(a, b)] as const);
  return fc.record({
    trial: fc.constant(trial),
    seconds: fc.array(second, { minLength: 3, maxLength: 3 }),
    windows: fc.array(window, { minLength: 4, maxLength: 4 }),
  });
});

const drawn = async (trial: Trial): Promise<(path: string) => Promise<unknown>> => {
  const drive = await newDrive(app, trial.project, trial.way);
  await insertBorings(app, drive, trial.season, trial.borings);
  return async (path) => (await app.http.get(`${drive.url}/${path}`)).body as unknown;
};

it('the face at an instant and the advance in a window agree with the naive calculation', async () => {
  await fc.assert(
    fc.asyncProperty(trials, async ({ trial, seconds, windows }) => {
      const { season, way, borings } = trial;
      const get = await drawn(trial);
      for (const second of seconds) {
        const at = instant(season, second);
        const { faceMm, untimedMm, untimedAheadMm } = naiveFace(borings, second);
        expect(await get(`face?at=${at}`)).toEqual({
          at: inZurich(at),
          faceM: metres(faceMm),
          faceChainage: chainageOf(way, faceMm),
          untimedM: metres(untimedMm),
          untimedAheadM: metres(untimedAheadMm),
        });
      }
      for (const [start, end] of windows) {
        const [from, to] = [instant(season, start), instant(season, end)];
        const [a, z] = [naiveFace(borings, start), naiveFace(borings, end)];
        const inside = booked(borings, (second) => (start <= second && second < end ? 'in' : 'out')).get(
          'in',
        );
        const advanceMm = inside?.mm ?? 0;
        expect(await get(`advance/window?from=${from}&to=${to}`)).toEqual({
          from: inZurich(from),
          to: inZurich(to),
          advanceM: metres(advanceMm),
          strokeCount: inside?.strokes.size ?? 0,
          boringHours: ((inside?.seconds ?? 0) / 3600).toFixed(4),
          fromChainage: chainageOf(way, a.faceMm),
          toChainage: chainageOf(way, z.faceMm),
          untimedM: metres(z.untimedMm - a.untimedMm),
          missingM: metres(z.faceMm - a.faceMm - advanceMm - z.untimedMm + a.untimedMm),
        });
      }
    }),
    runs(4, 40),
  );
});

describe('metres without times', () => {
  // 0 to 100 m imported, 100 to 102 m bored from 12:00 to 13:00, 102 to 110 m imported, 110 to 111 m bored from 15:00 to 16:00.
  const borings = [
    { stroke: 1, from: 0, to: 100_000 },
    { stroke: 2, from: 100_000, to: 102_000, start: 12 * 3600, end: 13 * 3600 },
    { stroke: 3, from: 102_000, to: 110_000 },
    { stroke: 4, from: 110_000, to: 111_000, start: 15 * 3600, end: 16 * 3600 },
  ];

  itOnce('count towards the face from the next timed boring on, and in no window', async () => {
    const season = { first: Date.parse('2027-03-15T00:00:00Z'), minutes: 1440 };
    const get = await drawn({ season, project: 'P6', way: -1, borings });
    const face = async (time: string): Promise<unknown[]> => {
      const { faceM, untimedM, untimedAheadM } = (await get(`face?at=2027-03-15T${time}Z`)) as Record<
        string,
        string
      >;
      return [faceM, untimedM, untimedAheadM];
    };
    expect(await face('11:59')).toEqual(['0.000', '0.000', '100.000']);
    expect(await face('12:00')).toEqual(['100.000', '100.000', '0.000']);
    expect(await face('12:30')).toEqual(['101.000', '100.000', '0.000']);
    expect(await face('13:00')).toEqual(['102.000', '100.000', '8.000']);
    expect(await face('14:59')).toEqual(['102.000', '100.000', '8.000']);
    expect(await face('15:30')).toEqual(['110.500', '108.000', '0.000']);
    expect(await get('advance/window?from=2027-03-15T12:30:00Z&to=2027-03-15T15:30:00Z')).toMatchObject({
      advanceM: '1.500', // 101 to 102 and 110 to 110.5
      fromChainage: '49+899.000',
      toChainage: '49+889.500',
      untimedM: '8.000',
      missingM: '0.000',
    });
  });
});

describe('bad input', () => {
  const url = '/v1/projects/P6/drives/D1';
  const FROM = 'from=2027-03-01T06:00:00Z';

  itOnce.each([
    ['face', '/at', /at is missing/],
    ['face?at=', '/at', /at must be a moment with its offset/],
    ['face?at=2027-03-01T06:00:00', '/at', /at must be a moment with its offset/],
    ['face?at=2027-02-30T06:00:00Z', '/at', /at must be a day of the calendar/],
    ['face?at=1899-12-31T23:59:59Z', '/at', /at must lie in the years 1900 to 2199/],
    ['face?at=now', '/at', /at must be a moment with its offset/],
    ['face?at=2027-03-01T06:00:00Z&of=me', '/of', /unknown query parameter "of": this route takes at, asOf/],
    ['face?at=2027-03-01T06:00:00Z&at=2027-03-01T06:00:00Z', '/at', /at is given 2 times/],
    [`advance/window?${FROM}`, '/to', /to is missing/],
    [`advance/window?${FROM}&to=2027-03-02`, '/to', /to must be a moment with its offset/],
    [
      `advance/window?${FROM}&to=2027-03-01T07:00:00%2B01:00`, // the same moment
      '/to',
      /^to 2027-03-01T07:00:00\+01:00 does not lie after from 2027-03-01T06:00:00Z$/,
    ],
    [`advance/window?${FROM}&to=2027-03-01T05:59:59Z`, '/to', /does not lie after from/],
    ['advance/rolling', '/hours', /hours is missing/],
    ['advance/rolling?hours=0', '/hours', /hours must be a whole number from 1 to 8784/],
    ['advance/rolling?hours=8785', '/hours', /hours must be a whole number from 1 to 8784/],
    ['advance/rolling?hours=1.5', '/hours', /hours must be a whole number/],
    ['advance/rolling?hours=day', '/hours', /hours must be/],
    ['advance/rolling?hours=24&from=march', '/from', /from must be a date/],
    ['advance/weeks?from=2027-W09', '/from', /from must be a date/],
    ['advance/months?to=2027-02-29', '/to', /to must be a day of the calendar/],
    ['advance/trend?days=7', '/days', /unknown query parameter "days"/],
    ...['shifts', 'days', 'weeks', 'months', 'quarters', 'trend', 'rolling'].map(
      (list): [string, string, RegExp] => [
        `advance/${list}?from=2027-03-02&to=2027-03-01${list === 'rolling' ? '&hours=24' : ''}`,
        '/to',
        /^to 2027-03-01 lies before from 2027-03-02$/,
      ],
    ),
  ])('%s is refused', async (path, pointer, detail) => {
    const { status, body } = await app.http.get(`${url}/${path}`);
    expect(status).toBe(422);
    expect(body.errors).toContainEqual(
      expect.objectContaining({ in: 'query', pointer, detail: expect.stringMatching(detail) }),
    );
  });

  itOnce.each([
    'face?at=2027-03-01T06:00:00Z',
    'advance/rolling?hours=24',
    'advance/weeks',
    'advance/best',
    'programmes',
  ])('%s of an unknown drive is not found', async (path) => {
    const { status, body } = await app.http.get(`/v1/projects/P6/drives/NONE/${path}`);
    expect([status, body.detail]).toEqual([404, 'There is no drive NONE in project P6.']);
  });

  itOnce.each([
    [
      'advanceByDay(from: "2027-03-02", to: "2027-03-01") { advanceM }',
      'to 2027-03-01 lies before from 2027-03-02',
    ],
    [
      'advanceBetween(from: "2027-03-01T06:00:00Z", to: "2027-03-01T06:00:00Z") { advanceM }',
      'to 2027-03-01T06:00:00Z does not lie after from 2027-03-01T06:00:00Z',
    ],
  ])('Drive.%s is refused in the same words', async (field, message) => {
    const query = `{ drive(project: "P6", drive: "D1") { ${field} } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toEqual([expect.objectContaining({ message })]);
  });

  itOnce('accepts a day as a range, and shows an invalid number as it was given', async () => {
    expect((await app.http.get(`${url}/advance/days?from=2027-03-01&to=2027-03-01`)).status).toBe(200);
    const { body } = await app.http.get(`${url}/advance/rolling?hours=day`);
    expect(body.errors).toEqual([expect.objectContaining({ pointer: '/hours', value: 'day' })]);
  });

  itOnce('understands the bare + of an offset', async () => {
    const { body } = await app.http.get(`${url}/face?at=2027-03-01T07:00:00+01:00`);
    expect(body).toMatchObject({ at: '2027-03-01T07:00:00+01:00' });
  });
});
