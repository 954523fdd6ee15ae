import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import {
  anyTrial,
  chainageOf,
  evenTrial,
  insertBorings,
  metres,
  millimetres,
  newDrive,
  type TrialDrive,
} from './drives.js';
import { boredBefore, booked, isTimed, type NaiveBoring, naiveFace } from './naive-face.js';
import { daysOf, instant, monthOf, type Season, weekOf } from './season.js';
import { itOnce, runs } from '../../harness/sizes.js';

// Rolling windows and the best of each kind, against a search over every minute.

const STARTS: Record<string, string> = { P0: '00:00', P6: '06:00' };

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  for (const [project, dayStart] of Object.entries(STARTS))
    await aProject(app, { project, timeZone: 'Europe/Zurich', dayStart });
});

afterAll(() => app.close());

interface Window {
  from: string;
  to: string;
  advanceM: string;
  fromChainage: string;
  toChainage: string;
}

interface Best extends Window {
  kind: string;
  label: string | null;
}

const get = async <T>({ url }: TrialDrive, path: string): Promise<T> =>
  (await app.http.get(`${url}/advance/${path}`)).body as T;

/** Twelve-hour drafts, one after the other. */
const insertShifts = async ({ id }: TrialDrive, season: Season): Promise<void> => {
  await app.sql(
    `insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
     select d.id, ($2::timestamptz + i / 2 * interval '24 hours')::date, n.id, $2::timestamptz + i * interval '12 hours',
       $2::timestamptz + (i + 1) * interval '12 hours', 'draft', 'x'
     from drive d join calendar_shift n on n.project_id = d.project_id, generate_series(0, $3::int) i
     where d.id = $1 and n.name = case i % 2 when 0 then 'day' else 'night' end`,
    [id, instant(season, 0), season.minutes / 720 - 1],
  );
};

const largest = <T>(all: T[], of: (one: T) => number): T =>
  all.reduce((best, one) => (of(one) > of(best) ? one : best));

const timesOf = (season: Season, text: string): number => (Date.parse(text) - season.first) / 60_000;

describe('a sliding window along the drive', () => {
  const trials = evenTrial(Object.keys(STARTS));

  it('is at its best, and earliest, among those that begin or end with a boring', async () => {
    const hours = fc.oneof(fc.constant(24), fc.integer({ min: 1, max: 300 }));
    await fc.assert(
      fc.asyncProperty(trials, hours, async ({ project, season, way, borings }, length) => {
        const drive = await newDrive(app, project, way);
        await insertBorings(app, drive, season, borings);
        const found = await get<Window[]>(drive, `rolling?hours=${length}`);
        // windows begin up to their length before the season and end up to their length after it
        const margin = length * 60;
        const before = boredBefore(borings, season.minutes, 60);
        const clamped = (minute: number): number =>
          before[Math.min(Math.max(minute, 0), season.minutes)] ?? 0;
        const advance = (start: number): number => clamped(start + margin) - clamped(start);
        for (const window of found) {
          expect(timesOf(season, window.to) - timesOf(season, window.from)).toBe(margin);
          expect([window.from, millimetres(window.advanceM)]).toEqual([
            window.from,
            advance(timesOf(season, window.from)),
          ]);
        }
        let start = -margin;
        for (let minute = -margin; minute < season.minutes; minute += 1)
          if (advance(minute) > advance(start)) start = minute;
        const best = largest(found, ({ advanceM }) => millimetres(advanceM));
        expect([timesOf(season, best.from), millimetres(best.advanceM)]).toEqual([start, advance(start)]);
      }),
      runs(3, 30),
    );
  });

  it('says where its first boring began and its last ended', async () => {
    await fc.assert(
      fc.asyncProperty(trials, async ({ project, season, way, borings }) => {
        const drive = await newDrive(app, project, way);
        await insertBorings(app, drive, season, borings);
        for (const window of await get<Window[]>(drive, 'rolling?hours=24')) {
          const [from, to] = [timesOf(season, window.from) * 60, timesOf(season, window.to) * 60];
          const touched = borings.filter(isTimed).filter(({ start, end }) => start < to && end > from);
          const first = touched[0] as NaiveBoring;
          const last = touched.at(-1) as NaiveBoring;
          expect([window.fromChainage, window.toChainage]).toEqual([
            chainageOf(way, Math.max(naiveFace(borings, from).faceMm, first.from)),
            chainageOf(way, Math.min(naiveFace(borings, to).faceMm, last.to)),
          ]);
        }
      }),
      runs(2, 20),
    );
  });
});

describe('the best of a drive', () => {
  it('agrees with a search over every shift, day, week and month, and over every second within a millimetre', async () => {
    await fc.assert(
      fc.asyncProperty(anyTrial(Object.keys(STARTS)), async ({ project, season, way, borings }) => {
        const drive = await newDrive(app, project, way);
        await insertBorings(app, drive, season, borings);
        await insertShifts(drive, season);
        const days = daysOf(season, STARTS[project] ?? '');
        const dayAt = (second: number): string => days[Math.floor(second / 60)] ?? '';
        const best = await get<Best[]>(drive, 'best');
        const slots = Array.from(
          { length: season.minutes / 720 },
          (_, n) =>
            `${instant(season, (n - (n % 2)) * 43_200).slice(0, 10)} ${n % 2 === 0 ? 'day' : 'night'}`,
        );
        const kinds: [string, (second: number) => string][] = [
          ['shift', (second) => slots[Math.floor(second / 43_200)] ?? ''],
          ['production_day', dayAt],
          ['week', (second) => weekOf(dayAt(second))],
          ['month', (second) => monthOf(dayAt(second))],
        ];
        for (const [kind, nameOf] of kinds) {
          const [label, { mm }] = largest([...booked(borings, nameOf)], ([, book]) => book.mm);
          expect(best.find((one) => one.kind === kind)).toMatchObject({ label, advanceM: metres(mm) });
        }
        const rolling = best.find(({ kind }) => kind === 'rolling_24_h') as Best;
        const before = boredBefore(borings, season.minutes * 60, 1);
        const most = before.reduce(
          (mm, until, second) => Math.max(mm, until - (before[Math.max(second - 86_400, 0)] ?? 0)),
          0,
        );
        // both ends of a window by seconds are rounded, here only one
        expect(Math.abs(millimetres(rolling.advanceM) - most)).toBeLessThanOrEqual(1);
        expect(Date.parse(rolling.to) - Date.parse(rolling.from)).toBe(86_400_000);
      }),
      runs(1, 6),
    );
  });

  itOnce('is the earliest among equals', async () => {
    const drive = await newDrive(app, 'P6');
    const season = { first: Date.parse('2027-02-01T05:00:00Z'), minutes: 60 * 1440 };
    const day = 86_400;
    const bored = (n: number, start: number): NaiveBoring => ({
      stroke: n,
      from: n * 2000,
      to: n * 2000 + 2000,
      start,
      end: start + 3600,
    });
    await insertShifts(drive, { ...season, minutes: 30 * 1440 });
    expect(await get<Best[]>(drive, 'best')).toEqual([]); // no best among shifts that bored nothing
    // 2 m on Monday 1 and Monday 8 February and on 1 March, at 07:00 in Zurich
    await insertBorings(app, drive, season, [
      bored(0, 3600),
      bored(1, 7 * day + 3600),
      bored(2, 28 * day + 3600),
    ]);
    expect(await get<Best[]>(drive, 'best')).toEqual([
      {
        kind: 'shift',
        label: '2027-02-01 day',
        advanceM: '2.000',
        from: '2027-02-01T06:00:00+01:00',
        to: '2027-02-01T18:00:00+01:00',
        fromChainage: '50+000.000',
        toChainage: '50+002.000',
      },
      {
        kind: 'production_day',
        label: '2027-02-01',
        advanceM: '2.000',
        from: '2027-02-01T06:00:00+01:00',
        to: '2027-02-02T06:00:00+01:00',
        fromChainage: '50+000.000',
        toChainage: '50+002.000',
      },
      // the earliest window with the whole boring ends with it
      {
        kind: 'rolling_24_h',
        label: null,
        advanceM: '2.000',
        from: '2027-01-31T08:00:00+01:00',
        to: '2027-02-01T08:00:00+01:00',
        fromChainage: '50+000.000',
        toChainage: '50+002.000',
      },
      {
        kind: 'week',
        label: '2027-W05',
        advanceM: '2.000',
        from: '2027-02-01T06:00:00+01:00',
        to: '2027-02-08T06:00:00+01:00',
        fromChainage: '50+000.000',
        toChainage: '50+002.000',
      },
      {
        kind: 'month',
        label: '2027-02',
        advanceM: '4.000',
        from: '2027-02-01T06:00:00+01:00',
        to: '2027-03-01T06:00:00+01:00',
        fromChainage: '50+000.000',
        toChainage: '50+004.000',
      },
    ]);
  });

  itOnce('is within the dates requested, by the day on which a window ends', async () => {
    const drive = await newDrive(app, 'P6');
    const hour = 3600;
    const season = { first: Date.parse('2027-02-01T05:00:00Z'), minutes: 0 };
    await insertBorings(app, drive, season, [
      { stroke: 1, from: 0, to: 1000, start: 0, end: hour },
      { stroke: 2, from: 1000, to: 3000, start: 24 * hour, end: 25 * hour },
      { stroke: 3, from: 3000, to: 4000, start: 47 * hour, end: 48 * hour }, // to the end of the day
    ]);
    const ends = async (range: string): Promise<string[]> =>
      (await get<Window[]>(drive, `rolling?hours=2${range}`)).map(({ to }) => to.slice(0, 16));
    expect(await ends('')).toEqual([
      '2027-02-01T07:00',
      '2027-02-01T08:00',
      '2027-02-02T07:00',
      '2027-02-02T08:00',
      '2027-02-03T06:00',
      '2027-02-03T07:00',
    ]);
    expect(await ends('&to=2027-02-01')).toEqual(['2027-02-01T07:00', '2027-02-01T08:00']);
    expect(await ends('&from=2027-02-02&to=2027-02-02')).toEqual([
      '2027-02-02T07:00',
      '2027-02-02T08:00',
      '2027-02-03T06:00',
    ]);
  });
});
