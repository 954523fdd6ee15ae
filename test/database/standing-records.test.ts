import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { migrate, shippedFolders } from '../../src/common/database/migrate.js';
import { startApp, type TestApp } from '../harness/app.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { rowsAt } from '../harness/rows-at.js';

// A record written before pieces had positions, standards and machines had dates, and members had parties is migrated, and must mean the same
// afterwards.

/** The first of the migrations that gave records more meaning. */
const FIRST_LATER = '20261204';

/** As it was posted, one transaction after the other. */
const RECORD = `
  insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P1', 'Trial tunnel', 'UTC', '06:00', 'CHF');

  insert into member (project_id, subject, role) values (1, 'anna', 'engineer');

  insert into calendar_shift (id, project_id, name, start_time, end_time, weekdays) values (1, 1, 'day', '06:00', '18:00', '{1,2,3,4,5,6,7}');
  insert into activity_code (id, project_id, code, description, counts_as) values (1, 1, 'BORE', 'Boring', 'boring'), (2, 1, 'MAINT', 'Maintenance', 'planned_stop');
  insert into ground_class (id, project_id, code, description) values (1, 1, 'A', 'Good rock'), (2, 1, 'B', 'Fair rock');
  insert into support_item (id, project_id, code, kind, unit, description) values (1, 1, 'BOLT', 'bolt', 'nr', 'Bolt 3 m'), (2, 1, 'RIB', 'rib', 'nr', 'Rib');
  insert into machine (id, project_id, code, name, disc_count, disc_radius_mm, rated_thrust_kn) values (1, 1, 'M1', 'Trial machine', 50, 241.3, 12000);
  insert into drive (id, project_id, code, name, machine_id, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 1, 1200, 2200, 1, 7);
  insert into standard_support (id, project_id, ground_class_id, edition) values (1, 1, 1, 'Rev 3');
  insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m, tolerance_percent) values (1, 1, 1, 'nr', 'L1', 2, 5);
  insert into drive_support_limit (drive_id, project_id, zone, limit_m) values (1, 1, 'L1', 12);

  insert into shift (id, drive_id, project_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
    values (1, 1, 1, '2027-03-01', 1, '2027-03-01T06:00Z', '2027-03-01T18:00Z', 'draft', repeat('0', 64));
  insert into boring (drive_id, project_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
    values (1, 1, 1, 1, 0, 1, '2027-03-01T06:00Z', '2027-03-01T06:30Z'), (1, 1, 1, 2, 1, 2, '2027-03-01T07:00Z', '2027-03-01T07:30Z');
  insert into ground_interval (drive_id, project_id, shift_id, from_m, to_m, ground_class_id) values (1, 1, 1, 0, 1, 1), (1, 1, 1, 1, 2, 2);
  insert into support_installed (drive_id, project_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity) values (1, 1, 1, 1, 1, 'nr', 'L1', 0, 2, 5);

  set local drivebook.actor = 'anna';
  insert into class_decision (drive_id, project_id, number, from_m, to_m, ground_class_id) values (1, 1, 1, 0, 1, 1);

  set local drivebook.actor = 'boris';
  update class_decision set state = 'agreed', contractor_representative = 'Anna', employer_representative = 'Boris';

  insert into probe_hole (drive_id, project_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m) values (1, 1, 'P1', 0, 5, 30, 29.886, 2.615);
`;

let database: TestDatabase;
let app: TestApp;
const D = '/v1/projects/P1/drives/N';
const get = async (path: string): Promise<unknown> =>
  (await app.http.get(path.startsWith('/v1') ? path : `${D}/${path}`)).body;

const sql = (text: string): Promise<object[]> => rowsAt(database.url, text);

beforeAll(async () => {
  database = await freshDatabase('template0');
  const root = mkdtempSync(path.join(os.tmpdir(), 'standing-'));
  const folders = {
    migrations: path.join(root, 'migrations'),
    views: path.join(root, 'views'),
    version: '0.0.1',
  };
  mkdirSync(folders.views, { recursive: true });
  for (const name of readdirSync(shippedFolders.migrations).filter((one) => one < FIRST_LATER))
    cpSync(path.join(shippedFolders.migrations, name), path.join(folders.migrations, name), {
      recursive: true,
    });
  await migrate(database.url, folders);
  for (const part of RECORD.split('\n\n'))
    await sql(
      `begin; set local search_path to report, public; set local drivebook.project = '1'; ${part}; commit`,
    );
  rmSync(root, { recursive: true });
  await migrate(database.url);
  app = await startApp({}, () => Promise.resolve(database.url));
});

afterAll(async () => {
  await app?.close();
  await database.drop();
});

const FAULT = `select number::int, fault from history.first_fault(1, null, null)`;

it('pieces over two classes are whole in each: 5 at 0.2, 0.6, 1.0, 1.4 and 1.8 m, classes meeting at 1.0 m', async () => {
  const pieces = await get('support-quantities/ground-classes');
  expect(pieces).toMatchObject([
    { groundClass: 'A', item: 'BOLT', quantity: '2.000' },
    { groundClass: 'B', item: 'BOLT', quantity: '3.000' },
  ]);
});

it('the former zones are those of the project, and support stays in its own', async () => {
  expect(await get('/v1/projects/P1/zones')).toMatchObject([{ code: 'L1' }, { code: 'L2' }]);
  expect(await get('support-quantities')).toMatchObject([{ item: 'BOLT', zone: 'L1', quantity: '5.000' }]);
});

it('standards, limits, machine and calendar are in force from the beginning on', async () => {
  expect(await get('/v1/projects/P1/ground-classes/A/standard-support')).toMatchObject({
    edition: 'Rev 3',
    validFrom: null,
    isInForce: true,
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '2.000000', tolerancePercent: '5.00' }],
  });
  expect(await get('support-limits')).toMatchObject({
    validFrom: null,
    limits: [{ zone: 'L1', limitM: '12.000' }],
  });
  expect(await get('/v1/projects/P1/machines/M1')).toMatchObject({
    validFrom: null,
    discCount: 50,
    discRadiusMm: '241.300',
    ratedThrustKn: '12000.000',
  });
  expect(await get('/v1/projects/P1/calendar-shifts')).toMatchObject([
    { name: 'day', startTime: '06:00', endTime: '18:00' },
  ]);
  expect(await get('required-support')).toMatchObject({
    items: [{ restsOn: 'A agreed', edition: 'Rev 3' }, { gap: 'no_standard' }],
  });
});

it('a class that two people agreed stays agreed, and nobody is recorded as acting for a party', async () => {
  expect(await get('class-decisions')).toMatchObject({
    items: [{ state: 'agreed', proposedBy: 'anna', agreedBy: 'boris', signatures: 'parties_not_recorded' }],
  });
  expect(await get('/v1/projects/P1/members')).toEqual([
    { subject: 'anna', roles: ['engineer'], party: null },
  ]);
});

it('a probe hole without a place in section no longer gives cover', async () => {
  expect(await get('probe-cover')).toMatchObject({ coverM: '0.000', holeCount: 1, withoutPositionCount: 1 });
});

it('seals from before a column was added still verify, and a change is still found', async () => {
  expect(await sql(FAULT)).toEqual([]);
  await sql(
    `alter table history.drive disable trigger all; update history.drive set probe_look_out_limit_deg = 20`,
  );
  expect(await sql(FAULT)).toMatchObject([{ fault: expect.stringMatching(/not those it sealed/) }]);
});
