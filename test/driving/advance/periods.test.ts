import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { anyTrial, chainageOf, insertBorings, metres, newDrive } from './drives.js';
import { booked, isTimed } from './naive-face.js';
import { dayBefore, daysOf, monthOf, quarterOf, weekOf } from './season.js';
import { itOnce, runs } from '../../harness/sizes.js';

// Advance by week, month and quarter against a naive walk in steps of a second; the rest worked by hand.

const STARTS: Record<string, string> = { P0: '00:00', P6: '06:00' };

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  for (const [project, dayStart] of Object.entries(STARTS))
    await aProject(app, { project, timeZone: 'Europe/Zurich', dayStart });
});

afterAll(() => app.close());

interface Day {
  productionDay: string;
  advanceM: string;
  mean7DaysM: string | null;
}

interface Period {
  period: string;
  firstDay: string;
  advanceM: string;
}

const sumMm = (all: { advanceM: string }[]): number =>
  all.reduce((total, { advanceM }) => total + Math.round(Number(advanceM) * 1000), 0);

/** A quotient in thousandths, halves up. */
const rounded = (mm: number, count: number): string => metres(Math.floor((2 * mm + count) / (2 * count)));

it('weeks, months and quarters agree with the naive calculation, and each sums to what was bored with times', async () => {
  await fc.assert(
    fc.asyncProperty(anyTrial(Object.keys(STARTS)), async ({ project, season, way, borings }) => {
      const drive = await newDrive(app, project, way);
      await insertBorings(app, drive, season, borings);
      const dayNames = daysOf(season, STARTS[project] ?? '');
      const nameOf = (second: number): string => dayNames[Math.floor(second / 60)] ?? '';
      const timed = borings.filter(isTimed);
      const total = timed.reduce((mm, { from, to }) => mm + to - from, 0);
      const last = nameOf((timed.at(-1)?.end ?? 0) - 1);
      const days = [nameOf(timed[0]?.start ?? 0)];
      while (days.at(-1) !== last) days.push(dayBefore(days.at(-1) ?? '', -1));
      const byDay = booked(borings, nameOf);
      const read = async <T>(path: string): Promise<T> =>
        (await app.http.get(`${drive.url}/advance/${path}`)).body as T;
      for (const [path, labelOf] of [
        ['weeks', weekOf],
        ['months', monthOf],
        ['quarters', quarterOf],
      ] as const) {
        const books = booked(borings, (second) => labelOf(nameOf(second)));
        let cumulative = 0;
        const expected = [...new Set(days.map(labelOf))].map((period) => {
          const own = days.filter((day) => labelOf(day) === period);
          const book = books.get(period);
          cumulative += book?.mm ?? 0;
          // hours are the sum of the days' rounded ones
          const hours = own.reduce(
            (sum, day) => sum + Number(((byDay.get(day)?.seconds ?? 0) / 3600).toFixed(4)),
            0,
          );
          return {
            period,
            advanceM: metres(book?.mm ?? 0),
            strokeCount: book?.strokes.size ?? 0,
            boringHours: hours.toFixed(4),
            dayCount: own.length,
            daysWithBoring: own.filter((day) => byDay.has(day)).length,
            meanMPerDay: rounded(book?.mm ?? 0, own.length),
            cumulativeM: metres(cumulative),
          };
        });
        const found = await read<Period[]>(path);
        expect(found).toMatchObject(expected);
        expect(sumMm(found)).toBe(total);
      }
      const trend = await read<Day[]>('trend');
      expect(sumMm(trend)).toBe(total);
      const mm = days.map((day) => byDay.get(day)?.mm ?? 0);
      expect(
        trend.map(({ productionDay, advanceM, mean7DaysM }) => [productionDay, advanceM, mean7DaysM]),
      ).toEqual(
        days.map((day, i) => [
          day,
          metres(mm[i] ?? 0),
          i < 6
            ? null
            : rounded(
                mm.slice(i - 6, i + 1).reduce((a, b) => a + b),
                7,
              ),
        ]),
      );
    }),
    runs(3, 30),
  );
});

const at = (text: string): number => Date.parse(text) / 1000;
const EPOCH = { first: 0, minutes: 0 };

describe('a drive over the turn of the year', () => {
  // 2026-12-31 is a Thursday: ISO week 53 of 2026 goes on until Sunday 2027-01-03. In winter 06:00 in Zurich is 05:00Z.
  // One stroke of 2 m from 04:00 to 06:00Z on Monday 4 January: 1 m in week 53, 1 m in week 1.
  const borings = [
    { stroke: 1, from: 0, to: 3000, start: at('2026-12-31T08:00:00Z'), end: at('2026-12-31T09:00:00Z') },
    { stroke: 2, from: 3000, to: 5000, start: at('2027-01-04T04:00:00Z'), end: at('2027-01-04T06:00:00Z') },
    { stroke: 3, from: 5000, to: 6500, start: at('2027-01-20T08:00:00Z'), end: at('2027-01-20T09:00:00Z') },
  ];

  itOnce('shows each period, even an empty one, named by ISO 8601', async () => {
    const drive = await newDrive(app, 'P6', -1);
    await insertBorings(app, drive, EPOCH, borings);
    const { body: weeks } = await app.http.get(`${drive.url}/advance/weeks`);
    const rows = (weeks as Record<string, unknown>[]).map((week) => [
      week['period'],
      week['firstDay'],
      week['lastDay'],
      week['advanceM'],
      week['strokeCount'],
      week['dayCount'],
      week['daysWithBoring'],
    ]);
    expect(rows).toEqual([
      ['2026-W53', '2026-12-28', '2027-01-03', '4.000', 2, 4, 2],
      ['2027-W01', '2027-01-04', '2027-01-10', '1.000', 1, 7, 1],
      ['2027-W02', '2027-01-11', '2027-01-17', '0.000', 0, 7, 0],
      ['2027-W03', '2027-01-18', '2027-01-24', '1.500', 1, 3, 1],
    ]);
    expect(weeks[0]).toEqual({
      period: '2026-W53',
      firstDay: '2026-12-28',
      lastDay: '2027-01-03',
      startsAt: '2026-12-28T06:00:00+01:00',
      endsAt: '2027-01-04T06:00:00+01:00',
      dayCount: 4,
      daysWithBoring: 2,
      advanceM: '4.000',
      strokeCount: 2,
      boringHours: '2.0000',
      meanMPerDay: '1.000',
      fromChainage: chainageOf(-1, 0),
      faceChainage: chainageOf(-1, 4000),
      cumulativeM: '4.000',
    });
    expect(weeks[2]).toMatchObject({
      fromChainage: null,
      faceChainage: null,
      meanMPerDay: '0.000',
      cumulativeM: '5.000',
    });
    const query = `{ drive(project: "P6", drive: "${drive.url.split('/').at(-1)}") {
      advanceByMonth { period advanceM } advanceByQuarter(from: "2027-01-01") { period advanceM dayCount } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive).toEqual({
      // the day of 3 January, which ends on the 4th at 05:00Z, belongs to January too
      advanceByMonth: [
        { period: '2026-12', advanceM: '3.000' },
        { period: '2027-01', advanceM: '3.500' },
      ],
      advanceByQuarter: [{ period: '2027-Q1', advanceM: '3.500', dayCount: 20 }],
    });
  });
});

describe('the first metres compared with the rest', () => {
  const read = async (url: string): Promise<unknown> => (await app.http.get(`${url}/advance/learning`)).body;

  itOnce('are means per day of 24 h, split where the face passes 500 m and 1000 m', async () => {
    // 10 m/d for 40 d, 20 m/d for 20 d, 30 m/d for 20 d: 500 m after 45 d, 1000 m after 60 + 200/30 = 66.6667 d.
    const day = 86_400;
    const drive = await newDrive(app, 'P6');
    await insertBorings(app, drive, { first: Date.parse('2027-01-01T00:00:00Z'), minutes: 0 }, [
      { stroke: 1, from: 0, to: 400_000, start: 0, end: 40 * day },
      { stroke: 2, from: 400_000, to: 800_000, start: 40 * day, end: 60 * day },
      { stroke: 3, from: 800_000, to: 1_400_000, start: 60 * day, end: 80 * day },
    ]);
    expect(await read(drive.url)).toEqual([
      {
        firstLengthM: '500.000',
        passedAt: '2027-02-15T01:00:00+01:00',
        firstM: '500.000',
        firstDays: '45.0000',
        firstMeanMPerDay: '11.111',
        restM: '900.000',
        restDays: '35.0000',
        restMeanMPerDay: '25.714',
        untimedM: '0.000',
      },
      {
        firstLengthM: '1000.000',
        passedAt: '2027-03-08T17:00:00+01:00',
        firstM: '1000.000',
        firstDays: '66.6667',
        firstMeanMPerDay: '15.000',
        restM: '400.000',
        restDays: '13.3333',
        restMeanMPerDay: '30.000',
        untimedM: '0.000',
      },
    ]);
  });

  itOnce('leave out what has no times, and have no rest until they are passed', async () => {
    // 0 to 480 m imported, 480 to 500 m in 12 h, then 12 h of rest, 500 to 510 m in 28 h.
    const hour = 3600;
    const drive = await newDrive(app, 'P6', -1);
    await insertBorings(app, drive, { first: Date.parse('2027-01-01T00:00:00Z'), minutes: 0 }, [
      { stroke: 1, from: 0, to: 480_000 },
      { stroke: 2, from: 480_000, to: 500_000, start: 0, end: 12 * hour },
      { stroke: 3, from: 500_000, to: 510_000, start: 24 * hour, end: 52 * hour },
    ]);
    expect(await read(drive.url)).toMatchObject([
      {
        passedAt: '2027-01-01T13:00:00+01:00',
        firstM: '20.000',
        firstDays: '0.5000',
        firstMeanMPerDay: '40.000',
        restM: '10.000',
        restDays: '1.6667', // 40 h
        restMeanMPerDay: '6.000',
        untimedM: '480.000',
      },
      {
        passedAt: null,
        firstM: '30.000',
        firstDays: '2.1667', // 52 h
        firstMeanMPerDay: '13.846',
        restM: '0.000',
        restDays: null,
        restMeanMPerDay: null,
      },
    ]);
  });

  itOnce('are empty where nothing has times', async () => {
    const drive = await newDrive(app, 'P6');
    await insertBorings(app, drive, EPOCH, [{ stroke: 1, from: 0, to: 600_000 }]);
    for (const path of ['learning', 'best', 'weeks', 'trend', 'rolling?hours=24'])
      expect((await app.http.get(`${drive.url}/advance/${path}`)).body).toEqual([]);
  });
});

describe('the mean of 30 days', () => {
  itOnce('begins with the thirtieth', async () => {
    // A day of 30 m, 28 days of nothing, then 3 m a day: 33/30 on day 30, and on day 31 without the first, 6/30.
    const day = 86_400;
    const stroke = (n: number, from: number, to: number, start: number) => ({
      stroke: n,
      from,
      to,
      start,
      end: start + 3600,
    });
    const drive = await newDrive(app, 'P6');
    await insertBorings(app, drive, { first: Date.parse('2027-01-01T10:00:00Z'), minutes: 0 }, [
      stroke(1, 0, 30_000, 0),
      stroke(2, 30_000, 33_000, 29 * day),
      stroke(3, 33_000, 36_000, 30 * day),
    ]);
    const { body } = await app.http.get(`${drive.url}/advance/trend?from=2027-01-29`);
    expect(body).toEqual([
      {
        productionDay: '2027-01-29',
        advanceM: '0.000',
        mean7DaysM: '0.000',
        mean30DaysM: null,
        cumulativeM: '30.000',
      },
      {
        productionDay: '2027-01-30',
        advanceM: '3.000',
        mean7DaysM: '0.429',
        mean30DaysM: '1.100',
        cumulativeM: '33.000',
      },
      {
        productionDay: '2027-01-31',
        advanceM: '3.000',
        mean7DaysM: '0.857',
        mean30DaysM: '0.200',
        cumulativeM: '36.000',
      },
    ]);
  });
});
