import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';

// The functions of prisma/views/common, and others that take only figures, at their limits, worked by hand.

let database: TestDatabase;
let client: pg.Client;

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c search_path=report,public' });
  await client.connect();
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

it.each([
  // a quantity at one place belongs to the part that contains it: its beginning included, its end excluded
  ['apportion(5, 10, 10, 10, 20)', '5'],
  ['apportion(5, 10, 10, 0, 10)', '0'],
  ['apportion(5, 10, 10, 0, 10.001)', '5'],
  ['apportion(5, 10, 10, 10.001, 20)', '0'],
  // 2 over 3 m: 0.667 until 11, 1.333 until 12, 2 until 13; each part is the difference
  ['apportion(2, 10, 13, 10, 11)', '0.667'],
  ['apportion(2, 10, 13, 11, 12)', '0.666'],
  ['apportion(2, 10, 13, 12, 13)', '0.667'],
  ['apportion(2, 10, 13, 13, 14)', '0'],
  ['apportion(2, 10, 13, 0, 10)', '0'],
  ['apportion(2, 10, 13, 0, 20)', '2.000'],
  // 4 pieces over 4 m are at 10.5, 11.5, 12.5 and 13.5, with 10 kg in total
  ['apportion(4, 4, 10, 14, null, 10, 11.5)', '1.000'],
  ['apportion(4, 4, 10, 14, null, 11.5, 11.501)', '1.000'],
  ['apportion(10, 4, 10, 14, null, 10, 11.501)', '5.000'],
  ['apportion(1, 3, 10, 13, null, 10, 11)', '0.333'],
  // 10 kg of 3 pieces: 3.333 until the second, 6.667 until the third
  ['apportion(10, 3, 10, 13, null, 10, 11)', '3.333'],
  ['apportion(10, 3, 10, 13, null, 10, 12)', '6.667'],
  ['apportion(10, 3, 10, 13, null, 11, 12)', '3.334'],
  ['apportion(10, null, 10, 13, null, 10, 11)', '3.333'],
  ['pieces_before(4, 10, 14, null, 10)', '0'],
  ['pieces_before(4, 10, 14, null, 10.5)', '0'],
  ['pieces_before(4, 10, 14, null, 10.501)', '1'],
  ['pieces_before(4, 10, 14, null, 14)', '4'],
  ["pieces_before(2, 10, 14, '{11,13}', 11)", '0'],
  ["pieces_before(2, 10, 14, '{11,13}', 11.001)", '1'],
  ["pieces_before(2, 10, 14, '{11,14}', 14)", '2'],
  // the same lines in thousandths and millimetres
  ['laid_before(2000, false, 10000, 13000, null, 10000)', '0'],
  ['laid_before(2000, false, 10000, 13000, null, 11000)', '667'],
  ['laid_before(2000, false, 10000, 13000, null, 12000)', '1333'],
  ['laid_before(2000, false, 10000, 13000, null, 13000)', '2000'],
  ['laid_before(1, false, 0, 2, null, 1)', '1'],
  // 999,999,999.999 over 999 km: a product beyond 64 bits
  ['laid_before(999999999999, false, 0, 999000000, null, 333000000)', '333333333333'],
  ['laid_before(4000, true, 10000, 14000, null, 10500)', '0'],
  ['laid_before(4000, true, 10000, 14000, null, 10501)', '1000'],
  ["laid_before(2000, true, 10000, 14000, '{11,13}', 11000)", '0'],
  ["laid_before(2000, true, 10000, 14000, '{11,13}', 11001)", '1000'],
  // measured up to a place: 2 over 3 m, to a billionth; a quantity at one place counts beyond it, not at it
  ['measured_before(2, null, 10, 13, null, 10)', '0'],
  ['measured_before(2, null, 10, 13, null, 11)', '0.666666667'],
  ['measured_before(2, null, 10, 13, null, 12)', '1.333333333'],
  ['measured_before(2.0000000005, null, 10, 13, null, 13)', '2.000000001'],
  ['measured_before(2, null, 10, 10, null, 10)', '0'],
  ['measured_before(2, null, 10, 10, null, 10.001)', '2.000000000'],
  // 2 m² go with 3 pieces at 10.5, 11.5 and 12.5
  ['measured_before(2, 3, 10, 13, null, 10.5)', '0.000000000'],
  ['measured_before(2, 3, 10, 13, null, 12.5)', '1.333333333'],
  ['measured_before(2, 3, 10, 13, null, 11.5)', '0.666666667'],
  // 1.7 m of 1000 m billed
  [
    `(select percent_of_bill from valuation_account_of('[{"toDateQuantity": 1.7, "billQuantity": 1000}]'))`,
    '0.2',
  ],
  ['arc_width(300, 60)', '120'],
  ['arc_width(60, 300)', '240'],
  ['arc_width(90, 90)', '0'],
  ['arc_width(0, 360)', '360'],
  ['angle_round(300, 60)', '120'],
  ['angle_round(0, 360)', '0'],
  // an interval includes its beginning and excludes its end; at 10 m, 120 is the beginning of number 12 and the end of number 11
  ['interval_holding(120, 10)', '12'],
  ['interval_holding(119.999, 10)', '11'],
  ['interval_holding(-0.001, 10)', '-1'],
  ['interval_ending(120, 10)', '11'],
  ['interval_ending(120.001, 10)', '12'],
  ['interval_from(12, 10, 125)', '0'],
  ['interval_from(13, 10, 125)', '5'],
  ['interval_to(12, 10, 125, 100)', '5'],
  ['interval_to(22, 10, 125, 100)', '100'],
  ['interval_bounds(125, 0, 20, 10)', '{0,5,15,20}'],
  ['interval_bounds(120, 0, 20, 10)', '{0,10,20}'],
  ['interval_bounds(125, 0, 20, null)', '{0,20}'],
  ['metres_within(10, 14, 12, 20)', '2'],
  ['metres_within(10, 12, 14, 20)', '-2'],
  [
    "seconds_within('2027-03-01 06:00Z', '2027-03-01 07:00Z', '2027-03-01 06:30Z', '2027-03-01 08:00Z')",
    '1800.000000',
  ],
  ["round(hours_between('2027-03-01 06:00Z', '2027-03-01 07:30Z'), 3)", '1.500'],
  ['drive_length(1200, 2200)', '1000'],
  ['drive_length(2200, 1200)', '1000'],
  ['range_end(1, 3, 10)', '3'],
  ['range_end(10, 3, 10)', '10.001'],
  // 2 m3 in place with a swell of 60 %
  ['round(bulked(2.000, 60), 3)', '3.200'],
  ['bulked(2::float8, 60::float8)', '3.2'],
  ['chainage_of_driven(1200, 1::smallint, 10)', '1210'],
  ['chainage_of_driven(1200, -1::smallint, 10)', '1190'],
  ['driven_of_chainage(1200, -1::smallint, 1190)', '10'],
  // D = 7 m: π/4 · 49 and π · 7
  ['round(face_area(7), 6)', '38.484510'],
  ['round(circumference(7), 6)', '21.991149'],
  // thirds of a million: the remaining one goes to the first
  ["shares_of('{1,1,1}')", '{333334,333333,333333}'],
  ["shares_of('{0,0}')", '{NULL,NULL}'],
  // 0.5 and 0.5 and 1: two steps: the remaining one goes to the first of equal remainders
  ["rounded_to_sum('{0.5,0.5,1}')", '{1,0,1}'],
  ["rounded_to_sum('{0.4,0.4,0.4}')", '{1,0,0}'],
  // 1.6 is two steps: to 0.7 and 0.5
  ["rounded_to_sum('{0.5,0.4,0.7}')", '{1,0,1}'],
  // remainders equal to a millionth count as equal, and the first gets the step; otherwise the larger
  ["rounded_to_sum('{0.4000001,0.4000002,0.7}')", '{1,0,1}'],
  ["rounded_to_sum('{0.400001,0.400002,0.7}')", '{0,1,1}'],
  ["rounded_to_sum('{0.4000014,0.4000016,0.7}')", '{0,1,1}'],
  ['mean(2, 2, 7, 3)', '2'],
  ['mean(1, 3, 8::float8, 4::float8)', '2'],
  ["takes(null, 'A')", 'true'],
  ["takes('{A,B}', 'B')", 'true'],
  ["takes('{A,B}', 'C')", 'false'],
  ['allowance_factor(12.5)', '1.12500000000000000000'],
  ['allowance_factor(null)', '1.00000000000000000000'],
  // a bolt pattern: as given; 6 pieces every 1.5 m; π · 7 m of circumference with 1.5 m along and 1 m around
  ['demanded_per_m(3, 6, 1.5, 1, null, null, 7)', '3'],
  ['round(demanded_per_m(null, 6, 1.5, 1, null, null, 7), 3)', '4.000'],
  ["calendar_shift_ends_at('2027-03-01', '06:00', '18:00', 'Europe/Zurich')", '2027-03-01 17:00:00+00'],
  ["calendar_shift_ends_at('2027-03-01', '18:00', '06:00', 'Europe/Zurich')", '2027-03-02 05:00:00+00'],
  // the night on which the clocks go forward, and a shift of 24 h
  ["calendar_shift_ends_at('2027-03-27', '18:00', '06:00', 'Europe/Zurich')", '2027-03-28 04:00:00+00'],
  ["calendar_shift_ends_at('2027-03-01', '06:00', '06:00', 'Europe/Zurich')", '2027-03-02 05:00:00+00'],
])('%s is %s', async (call, expected) => {
  await client.query(`set time zone 'UTC'`);
  const { rows } = await client.query<{ answer: string }>(`select (${call})::text as answer`);
  expect(rows[0]?.answer).toBe(expected);
});

it('lines are divided in whole numbers like their figures', async () => {
  const { rows } = await client.query(`
    with line as (
      select n, n % 2 = 0 as is_counted, (n * 7919) % 12000 as from_mm, 1 + (n * 104729) % 6000 as length_mm, n % 4 = 2 as is_placed,
        case when n % 2 = 0 then 1000 * (1 + n % 9) else 1 + (n::bigint * 15485863) % 5000000000 end as quantity
      from generate_series(1, 4000) n
    ), placed as (
      select *, case when is_placed then array(select (from_mm + length_mm * i / 10) * 0.001 from generate_series(0, quantity / 1000 - 1) i) end as positions_m,
        from_mm + (n * 31) % (length_mm + 1) as at_mm
      from line
    )
    select n from placed
    where laid_before(quantity, is_counted, from_mm, from_mm + length_mm, positions_m, at_mm) is distinct from 1000 * apportion(quantity * 0.001,
      case when is_counted then quantity / 1000.0 end, from_mm * 0.001, (from_mm + length_mm) * 0.001, positions_m, 0, at_mm * 0.001)`);
  expect(rows).toEqual([]);
});
