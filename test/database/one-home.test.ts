import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

// Each formula of the views is in one function, which PostgreSQL inlines into the calling query.

const FOLDER = path.join(import.meta.dirname, '../../prisma/views');
const SOURCES = path.join(import.meta.dirname, '../../src');

/** Patterns of formulas, and the file that may contain each. */
const HOMES: [formula: string, saysIt: RegExp, home: string[]][] = [
  ['chainage of driven metres', /start_chainage_m \+ [\w.]*direction \*/, ['common/chainage_of_driven.sql']],
  [
    'driven metres of a chainage',
    /direction \* \([^;]*?- [\w.]*start_chainage_m\)/,
    ['common/driven_of_chainage.sql'],
  ],
  ['π', /3\.14159|0\.7853/, ['common/circumference.sql', 'common/face_area.sql']],
  ['width of an arc', /then 360 else 0 end/, ['common/arc_width.sql']],
  ['begin of an interval', /greatest\([\w.:()]+ \* interval_m - /, ['common/interval_from.sql']],
  ['end of an interval', /least\(\([\w.:()]+ \+ 1\) \* interval_m - /, ['common/interval_to.sql']],
  [
    'part within a span',
    /least\([\w.]+, [\w.]+\) - greatest\([\w.]+, [\w.]+\)/,
    ['common/metres_within.sql', 'common/seconds_within.sql'],
  ],
  [
    'interval of a place',
    /(?:floor|ceil)\([^;]*? \/ interval_m\)/,
    ['common/interval_bounds.sql', 'common/interval_ending.sql', 'common/interval_holding.sql'],
  ],
  ['length of a drive', /abs\([\w.]*end_chainage_m - [\w.]*start_chainage_m\)/, ['common/drive_length.sql']],
  ['end of a range of the drive', /then 0\.001|\+ 0\.001 else/, ['common/range_end.sql']],
  ['bulking', /\(1 \+ [\w.]*swell_percent/, ['common/bulked.sql']],
  ['end of a calendar shift', /end_time <= [\w.]*start_time/, ['common/calendar_shift_ends_at.sql']],
  ['hours of a span', /extract\(epoch from [^;()]*\) \/ 3600/, ['common/hours_between.sql']],
  ['angle round the ring', /mod\(\w+ - \w+ \+ 360, 360\)/, ['common/angle_round.sql']],
  ['what a rule takes', /is null or [\w.]+(?:::text)? = any \(/, ['common/takes.sql']],
  ['factor of an allowance', /1 \+ coalesce\([\w.]*allowance_percent/, ['payment/allowance_factor.sql']],
  ['demand of a metre', /pieces_per_row \/ [\w.]*spacing_m/, ['payment/demanded_per_m.sql']],
  ['water and cement of grout', /water_cement_ratio \* [\w.]*mass_kg/, ['ahead/grout_taken.sql']],
  ['shares in millionths', /div\(.*\* 1000000/, ['common/shares_of.sql']],
];

const files = readdirSync(FOLDER, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.sql'))
  .map((name) => ({
    name: name.split(path.sep).join('/'),
    text: readFileSync(path.join(FOLDER, name), 'utf8'),
  }));

const services = readdirSync(SOURCES, { recursive: true, encoding: 'utf8' })
  .filter((name) => /\.tsx?$/.test(name) && !name.startsWith('engineering'))
  .map((name) => ({
    name: name.split(path.sep).join('/'),
    text: readFileSync(path.join(SOURCES, name), 'utf8'),
  }));

/** Checks whether a shift of one calendar ends after the start of a shift of another. */
const COMPARED = ['features/site/calendar/calendar.service.ts'];

it.each(HOMES)('%s is in no service', (_, saysIt) => {
  expect(
    services
      .filter(({ name, text }) => saysIt.test(text) && !COMPARED.includes(name))
      .map(({ name }) => name),
  ).toEqual([]);
});

it.each(HOMES)('%s is only in its home', (_, saysIt, home) => {
  expect(files.filter(({ text }) => saysIt.test(text)).map(({ name }) => name)).toEqual(home);
});

describe('a call', () => {
  let database: TestDatabase;
  let client: pg.Client;

  beforeAll(async () => {
    database = await freshDatabase();
    client = new pg.Client({ connectionString: database.url });
    await client.connect();
    await client.query('set search_path = report, public');
  });

  afterAll(async () => {
    await client.end();
    await database.drop();
  });

  it.each([
    ['chainage_of_driven(start_chainage_m, direction, end_chainage_m)', 'drive'],
    ['driven_of_chainage(start_chainage_m, direction, end_chainage_m)', 'drive'],
    ['chainage_text(start_chainage_m)', 'drive'],
    ['face_area(bored_diameter_m)', 'drive'],
    ['circumference(bored_diameter_m)', 'drive'],
    ['arc_width(arc_from_deg, arc_to_deg)', 'support_installed'],
    ['interval_from(from_m, 10, to_m)', 'boring'],
    ['interval_to(from_m, 10, to_m, from_m)', 'boring'],
    ['drive_length(start_chainage_m, end_chainage_m)', 'drive'],
    ['range_end(start_chainage_m, end_chainage_m, 100)', 'drive'],
    ['bulked(bored_diameter_m, swell_percent)', 'drive'],
    ['bulked(bored_diameter_m::float8, swell_percent::float8)', 'drive'],
    ['interval_holding(from_m, 10)', 'boring'],
    ['interval_ending(to_m, 10)', 'boring'],
    ['hours_between(started_at, ended_at)', 'boring'],
    ['calendar_shift_ends_at(valid_from, start_time, end_time, name)', 'calendar_shift'],
    ['angle_round(arc_from_deg, arc_to_deg)', 'support_installed'],
    ['takes(array[code], description)', 'support_item'],
    ['allowance_factor(allowance_percent)', 'measurement_rule'],
    [
      'demanded_per_m(quantity_per_m, pieces_per_row, spacing_m, around_spacing_m, from_deg, to_deg, 5)',
      'standard_support_item',
    ],
    ['metres_within(from_m, to_m, from_m, to_m)', 'boring'],
    ['seconds_within(started_at, ended_at, started_at, ended_at)', 'boring'],
    ['mean(thrust_kn, torque_knm, from_m, to_m)', 'boring'],
  ])('of %s is inlined into its query', async (call, table) => {
    const { rows } = await client.query<Record<string, string>>(
      `explain (verbose) select ${call} from ${table}`,
    );
    const output = rows.map((row) => String(row['QUERY PLAN'])).find((line) => line.includes('Output:'));
    expect(output).not.toContain(call.slice(0, call.indexOf('(') + 1));
    expect(output).toMatch(/[-+*/]|LEAST|CASE|floor|ceil|mod|COALESCE|ANY|to_char/i);
  });
});
