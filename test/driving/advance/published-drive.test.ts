import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { metres, newDrive } from './drives.js';
import { dayBefore } from './season.js';

// The records of the Meråker hydro drive, diameter 3.5 m, as published (Norwegian Soil and Rock Engineering Association, publication 11,
// chapter 11): best shift of 10 h 69.1 m, day 100.3, week 426.8, month 1358.0; first month 1028.9. Borings are made up that reach them.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { timeZone: 'Europe/Oslo', dayStart: '06:00' });
  await app.sql(`insert into calendar_shift (project_id, name, start_time, end_time, weekdays)
    select id, n, s, e, '{1,2,3,4,5,6}' from project, (values ('early', '06:00', '16:00'), ('late', '16:00', '02:00')) c(n, s, e)`);
});

afterAll(() => app.close());

type Shift = [date: string, shift: 'early' | 'late', mm: number];

const days = (monday: string, count: number): string[] =>
  Array.from({ length: count }, (_, i) => dayBefore(monday, -i));

/** Both shifts from Monday to Friday, with this many millimetres each. */
const evenWeek = (monday: string, mm: number): Shift[] =>
  days(monday, 5).flatMap((date): Shift[] => [
    [date, 'early', mm],
    [date, 'late', mm],
  ]);

const saturday = (monday: string, mm: number): Shift => [dayBefore(monday, -5), 'early', mm];

// 3 × 10 × 25.7 + 9 × 25.7 + 26.6 = 1028.9 m
const JANUARY: Shift[] = [
  ...['2027-01-04', '2027-01-11', '2027-01-18'].flatMap((monday) => evenWeek(monday, 25_700)),
  ...evenWeek('2027-01-25', 25_700).slice(1),
  ['2027-01-30', 'early', 26_600],
];

// 100.3 + 81.6 + 81.6 + 81.7 + 81.6 = 426.8 m; from Wednesday 16:00 to Thursday 16:00 45.0 + 60.0 = 105.0 m
const BEST_WEEK: Shift[] = [
  ['2027-02-08', 'early', 69_100],
  ['2027-02-08', 'late', 31_200],
  ['2027-02-09', 'early', 40_800],
  ['2027-02-09', 'late', 40_800],
  ['2027-02-10', 'early', 36_600],
  ['2027-02-10', 'late', 45_000],
  ['2027-02-11', 'early', 60_000],
  ['2027-02-11', 'late', 21_700],
  ['2027-02-12', 'early', 40_800],
  ['2027-02-12', 'late', 40_800],
];

// 426.8 + 3 × (10 × 28.2 + 28.4) = 426.8 + 931.2 = 1358.0 m in 43 shifts
const FEBRUARY: Shift[] = [
  ...evenWeek('2027-02-01', 28_200),
  saturday('2027-02-01', 28_400),
  ...BEST_WEEK,
  ...['2027-02-15', '2027-02-22'].flatMap((monday) => [
    ...evenWeek(monday, 28_200),
    saturday(monday, 28_400),
  ]),
];

it('the best of each kind are found, when and where', async () => {
  const drive = await newDrive(app, 'P1');
  let face = 0;
  const rows = [...JANUARY, ...FEBRUARY].map(([date, shift, mm], stroke) => {
    face += mm;
    return { date, shift, stroke, from_m: metres(face - mm), to_m: metres(face) };
  });
  // a 10 h shift bores all the time
  await app.sql(
    `with r as (
       select r.*, n.id as calendar_shift_id, timezone('Europe/Oslo', r.date + n.start_time::interval) as starts_at
       from jsonb_to_recordset($2) as r(date date, shift text, stroke int, from_m numeric, to_m numeric) join calendar_shift n on n.name = r.shift
     ), s as (
       insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
       select $1, date, calendar_shift_id, starts_at, starts_at + interval '10 hours', 'draft', 'x' from r returning id, starts_at, ends_at
     )
     insert into boring (drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
     select $1, s.id, stroke, from_m, to_m, s.starts_at, s.ends_at from r join s using (starts_at)`,
    [drive.id, JSON.stringify(rows)],
  );
  const { body: best } = await app.http.get(`${drive.url}/advance/best`);
  expect(best).toEqual([
    {
      kind: 'shift',
      label: '2027-02-08 early',
      advanceM: '69.100',
      from: '2027-02-08T06:00:00+01:00',
      to: '2027-02-08T16:00:00+01:00',
      fromChainage: '51+339.300', // 1028.9 + 310.4 m
      toChainage: '51+408.400',
    },
    {
      kind: 'production_day',
      label: '2027-02-08',
      advanceM: '100.300',
      from: '2027-02-08T06:00:00+01:00',
      to: '2027-02-09T06:00:00+01:00',
      fromChainage: '51+339.300',
      toChainage: '51+439.600',
    },
    {
      kind: 'rolling_24_h',
      label: null,
      advanceM: '105.000',
      from: '2027-02-10T16:00:00+01:00',
      to: '2027-02-11T16:00:00+01:00',
      fromChainage: '51+557.800',
      toChainage: '51+662.800',
    },
    {
      kind: 'week',
      label: '2027-W06',
      advanceM: '426.800',
      from: '2027-02-08T06:00:00+01:00',
      to: '2027-02-15T06:00:00+01:00',
      fromChainage: '51+339.300',
      toChainage: '51+766.100',
    },
    {
      kind: 'month',
      label: '2027-02',
      advanceM: '1358.000',
      from: '2027-02-01T06:00:00+01:00',
      to: '2027-03-01T06:00:00+01:00',
      fromChainage: '51+028.900',
      toChainage: '52+386.900',
    },
  ]);
  const { body: months } = await app.http.get(`${drive.url}/advance/months`);
  expect(months).toMatchObject([
    { period: '2027-01', advanceM: '1028.900' },
    { period: '2027-02', advanceM: '1358.000', boringHours: '430.0000', strokeCount: 43 },
  ]);
});
