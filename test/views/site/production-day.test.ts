import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Where the clocks change at the start of day: docs/calculations.md, production day.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

/** Local time as if it were UTC, minute by minute, for some days from a date. */
const wallFrom = (zone: string, date: string, days: number): { at: number; wall: number }[] => {
  const clock = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  });
  const first = Date.parse(`${date}T00:00:00Z`);
  return Array.from({ length: days * 1440 }, (_, minute) => {
    const at = first + minute * MINUTE_MS;
    const parts = Object.fromEntries(clock.formatToParts(at).map(({ type, value }) => [type, value]));
    const { year, month, day, hour, minute: shown } = parts;
    return { at, wall: Date.parse(`${year}-${month}-${day}T${hour}:${shown}:00Z`) };
  });
};

/** By search backwards in local time: the last minute that shows the time or less, plus the difference. */
const startOf = (walls: { at: number; wall: number }[], shown: number): number => {
  const last = walls.findLast(({ wall }) => wall <= shown);
  if (!last) throw new Error('not on the wall');
  return last.at + shown - last.wall;
};

const dateOf = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

interface DayOf {
  at: number;
  day: string;
  starts: number;
}

const daysOf = (instants: number[], zone: string, dayStart: string): Promise<DayOf[]> =>
  app.sql<DayOf>(
    `select (extract(epoch from at) * 1000)::float8 as at, day::text, (extract(epoch from report.production_day_start(day, $2, $3)) * 1000)::float8 as starts
     from unnest($1::timestamptz[]) at cross join lateral (select report.production_day(at, $2, $3) as day) d order by 1`,
    [instants.map((ms) => new Date(ms).toISOString()), zone, dayStart],
  );

// By hand. Oslo, 2027-03-28: 02:00 becomes 03:00 at 01:00 UTC, so 02:30 is 03:30, 01:30 UTC. 2027-10-31: 03:00 becomes 02:00
// at 01:00 UTC, so 02:30 comes at 00:30 and at 01:30 UTC, and the second counts.
describe('a day that begins at 02:30 in Oslo', () => {
  it.each([
    ['2027-03-28T00:59:59.999Z', '2027-03-27'],
    ['2027-03-28T01:00:00Z', '2027-03-27'],
    ['2027-03-28T01:29:59.999Z', '2027-03-27'],
    ['2027-03-28T01:30:00Z', '2027-03-28'],
    ['2027-03-29T00:29:59.999Z', '2027-03-28'],
    ['2027-03-29T00:30:00Z', '2027-03-29'],
    ['2027-10-31T00:30:00Z', '2027-10-30'],
    ['2027-10-31T01:00:00Z', '2027-10-30'],
    ['2027-10-31T01:29:59.999Z', '2027-10-30'],
    ['2027-10-31T01:30:00Z', '2027-10-31'],
  ])('contains %s in %s', async (at, day) => {
    const [found] = await daysOf([Date.parse(at)], 'Europe/Oslo', '02:30');
    expect(found?.day).toBe(day);
  });

  it('has 23 h in spring and 25 h in autumn', async () => {
    const [hours] = await app.sql(
      `select ${['2027-03-27', '2027-03-28', '2027-10-30', '2027-10-31']
        .map(
          (day) => `extract(epoch from report.production_day_start(date '${day}' + 1, 'Europe/Oslo', '02:30')
            - report.production_day_start('${day}', 'Europe/Oslo', '02:30'))::int / 3600`,
        )
        .map((sql, index) => `${sql} as d${index}`)
        .join()}`,
    );
    expect(hours).toEqual({ d0: 24, d1: 23, d2: 25, d3: 24 });
  });
});

// Zones with clock changes at 02:00, at midnight, and by half an hour; days that begin before, during and after the change.
describe('production_day and production_day_start', () => {
  it.each([
    ['Europe/Oslo', '2027-03-26', ['01:59', '02:00', '02:30', '03:00', '06:00']],
    ['Europe/Oslo', '2027-10-29', ['01:59', '02:00', '02:30', '03:00', '06:00']],
    ['Africa/Cairo', '2027-04-28', ['00:00', '00:30', '01:00', '23:30']],
    ['Africa/Cairo', '2027-10-27', ['00:00', '23:00', '23:30']],
    ['Australia/Lord_Howe', '2027-04-02', ['01:30', '01:45', '02:00']],
    ['Australia/Lord_Howe', '2027-10-01', ['01:45', '02:00', '02:15', '02:30']],
    ['America/New_York', '2027-11-05', ['01:00', '01:30', '02:00']],
  ])('are inverse in %s from %s on, by the wall clock', async (zone, date, starts) => {
    const walls = wallFrom(zone, date, 5);
    const first = Date.parse(`${date}T00:00:00Z`);
    for (const dayStart of starts) {
      const [hours = 0, minutes = 0] = dayStart.split(':').map(Number);
      const days = [1, 2, 3, 4].map((day) => {
        const shown = first + day * DAY_MS + (hours * 60 + minutes) * MINUTE_MS;
        return { day: dateOf(first + day * DAY_MS), starts: startOf(walls, shown) };
      });
      const instants = walls
        .map(({ at }) => at)
        .filter((at, index) => index % 10 === 0 && at < (days[3]?.starts ?? 0));
      instants.push(...days.slice(0, 3).flatMap(({ starts: at }) => [at - 1, at]));
      const expected = instants
        .toSorted((a, b) => a - b)
        .flatMap((at) => {
          const held = days.findLast(({ starts: from }) => from <= at);
          return held ? [{ at, ...held }] : [];
        });
      const found = await daysOf(instants, zone, dayStart);
      expect(found.filter(({ at }) => at >= (days[0]?.starts ?? 0))).toEqual(expected);
    }
  });
});

describe('work in the hour of the clock change', () => {
  it('counts on the day that contains it: metres, hours and samples', async () => {
    await aProject(app, { timeZone: 'Europe/Oslo', dayStart: '02:30' });
    const drive = '/v1/projects/P1/drives/N';
    const [startedAt, endedAt] = ['2027-03-28T01:00:00Z', '2027-03-28T02:00:00Z'];
    const shift = {
      state: 'draft',
      strokes: [{ number: 1, borings: [{ from: '1+200', to: '1+201', startedAt, endedAt }] }],
      activities: [{ code: 'BORE', startedAt, endedAt }],
      support: [],
      ground: [],
    };
    const { status, text } = await app.http.put(`${drive}/shifts/2027-03-27/night`).send(shift);
    expect([status, text]).toEqual([201, expect.anything()]);
    await app.http
      .post(`${drive}/samples`)
      .set('content-type', 'application/x-ndjson')
      .send(`{"at": "${startedAt}", "positionM": 0}\n{"at": "2027-03-28T01:40:00Z", "positionM": 0.667}`);
    const { body: days } = await app.http.get(`${drive}/advance/days`);
    // 01:30 UTC cuts the hour in halves; the shift lasts from 17:00 to 04:00 UTC, 8.5 h and 2.5 h
    expect(days).toMatchObject([
      { productionDay: '2027-03-27', advanceM: '0.500', boringHours: '0.5000' },
      { productionDay: '2027-03-28', advanceM: '0.500', boringHours: '0.5000' },
    ]);
    const hours = await app.sql(
      `select d.production_day::text as day, d.seconds::int / 3600.0 as shift, e.seconds::int / 3600.0 as booked
       from report.shift_day d join report.ledger_entry e on e.shift_id = d.shift_id and e.production_day = d.production_day order by 1`,
    );
    expect(hours.map((row) => Object.values(row).map(Number)).map(([, ...rest]) => rest)).toEqual([
      [8.5, 0.5],
      [2.5, 0.5],
    ]);
    const { body: samples } = await app.http.get(`${drive}/samples/summary`);
    expect(samples.days).toEqual([
      { productionDay: '2027-03-27', count: 1 },
      { productionDay: '2027-03-28', count: 1 },
    ]);
  });

  it('is 5 ms shorter in a shift that starts 5 ms late', async () => {
    const startsAt = '2027-06-01T04:00:00.005Z'; // 06:00 in Oslo, until 18:00: 12 h are 43,200 s
    const shift = { state: 'draft', startsAt, strokes: [], activities: [], support: [], ground: [] };
    const { status, text } = await app.http.put('/v1/projects/P1/drives/N/shifts/2027-06-01/day').send(shift);
    expect([status, text]).toEqual([201, expect.anything()]);
    expect(
      await app.sql(`select seconds::text from report.shift_day where shift_date = '2027-06-01'`),
    ).toEqual([{ seconds: '43199.995' }]);
  });
});
