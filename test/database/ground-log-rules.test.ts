import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

// The rules that the database enforces for ground logs, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

const Q = {
  q_edition: `'q-2013'`,
  q_location: `'normal'`,
  q_jn_row: `'F'`,
  q_jn: '9',
  q_jr_row: `'E'`,
  q_jr: '1.5',
  q_jr_spacing_above_3m: 'false',
  q_ja_row: `'B'`,
  q_ja: '1',
  q_jw_row: `'A'`,
  q_jw: '1',
  q_srf_row: `'G'`,
  q_srf: '1',
  q: '13.3',
  q_class: `'good'`,
  q_rqd_percent: '80',
  q_jn_counted: '9',
  q_jr_counted: '1.5',
  rqd_percent: '80',
};

const RMR = {
  rmr_edition: `'rmr-1989'`,
  rmr_strength_by: `'ucs'`,
  ucs_mpa: '150',
  rmr_condition: `'highly_weathered'`,
  rmr_groundwater_by: `'state'`,
  water_state: `'damp'`,
  rmr_orientation: `'fair'`,
  rmr_strength_rating: '12',
  rmr_rqd_rating: '17',
  rmr_spacing_rating: '15',
  rmr_condition_rating: '20',
  rmr_groundwater_rating: '10',
  rmr_orientation_rating: '-5',
  rmr: '69',
  rmr_class: `'II'`,
  rqd_percent: '80',
  joint_spacing_m: '1',
};

const log = (values: Record<string, string> = {}): string => {
  const row = {
    drive_id: '1',
    name: `'L'`,
    from_m: '20',
    to_m: '30',
    mapped_by: `'Ada'`,
    mapped_at: `'2027-03-01Z'`,
    ...values,
  };
  return `insert into ground_log_sheet (${Object.keys(row).join()}) values (${Object.values(row).join()})`;
};

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await client.connect();
  await client.query(`
    insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR');
    insert into drive (id, project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 1000, 900, -1, 7);
    ${log({ name: `'A'`, from_m: '0', to_m: '10' })};`);
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

const refusal = async (sql: string): Promise<string> => {
  await client.query('begin');
  try {
    await client.query(sql);
    return 'taken';
  } catch (error) {
    const { message, constraint } = error as pg.DatabaseError;
    return `${constraint}: ${message}`;
  } finally {
    await client.query('rollback');
  }
};

it.each([
  ['without a rating', log()],
  ['with Q', log(Q)],
  ['over another, of another face', log({ from_m: '5', mapped_place: `'crown'` })],
  ['over another, for a party', log({ from_m: '5', mapped_for: `'supervisor'` })],
  ['with RMR', log(RMR)],
  ['with both, beside its neighbour', log({ ...Q, ...RMR, from_m: '10' })],
  [
    'with the detailed condition',
    log({
      ...RMR,
      rmr_condition: 'null',
      rmr_persistence_m: '1',
      rmr_aperture_mm: '0',
      rmr_roughness: `'rough'`,
      rmr_infilling: `'none'`,
      rmr_weathering: `'fresh'`,
    }),
  ],
])('a log is accepted %s', async (_, sql) => {
  expect(await refusal(sql)).toBe('taken');
});

it.each([
  ['over another', log({ from_m: '9.999' }), 'ground_log_once'],
  ['with an unknown face', log({ mapped_place: `'roof'` }), 'ground_log_mapped_place'],
  ['for an unknown party', log({ mapped_for: `'visitor'` }), 'ground_log_mapped_for'],
  ['as governing already', log({ ruling_state: `'agreed'` }), 'ground_log_ruling_stands'],
  ['without length', log({ to_m: '20' }), 'ground_log_place'],
  ['behind the start', log({ from_m: '-1', to_m: '0' }), 'ground_log_place'],
  [
    'beyond the end',
    log({ to_m: '100.001' }),
    'within_drive: 0+899.999 lies beyond the end of the drive at 0+900.000',
  ],
  ['with a face beyond the end', log({ face_m: '101' }), 'within_drive'],
  ['twice under a name', log({ name: `'A'` }), 'ground_log_sheet_drive_id_name_key'],
  ['under a name that is not a code', log({ name: `'A B'` }), 'ground_log_name'],
  ['by nobody', log({ mapped_by: `''` }), 'ground_log_mapped'],
  ['by blanks', log({ mapped_by: `'  '` }), 'ground_log_mapped'],
  ['with an RQD above 100', log({ rqd_percent: '101' }), 'ground_log_measures'],
  ['with no number for a measure', log({ ucs_mpa: `'NaN'` }), 'ground_log_measures'],
  ['with another state of water', log({ water_state: `'moist'` }), 'ground_log_water'],
  ['with a part of Q', log({ ...Q, q_srf_row: 'null' }), 'ground_log_q_whole'],
  ['with Q and no class', log({ ...Q, q_class: 'null' }), 'ground_log_q_whole'],
  ['with Q and no RQD', log({ ...Q, rqd_percent: 'null', q_rqd_percent: '10' }), 'ground_log_q_whole'],
  ['with a factor of 0', log({ ...Q, q_jn: '0' }), 'ground_log_q_values'],
  ['with another location', log({ ...Q, q_location: `'shaft'` }), 'ground_log_q_values'],
  ['with an RQD of Q that is not its own', log({ ...Q, q_rqd_percent: '70' }), 'ground_log_q_values'],
  ['with a part of RMR', log({ ...RMR, rmr_orientation: 'null' }), 'ground_log_rmr_whole'],
  ['with RMR and no spacing', log({ ...RMR, joint_spacing_m: 'null' }), 'ground_log_rmr_whole'],
  ['with RMR and no strength', log({ ...RMR, ucs_mpa: 'null' }), 'ground_log_rmr_strength'],
  ['with RMR and no water', log({ ...RMR, water_state: 'null' }), 'ground_log_rmr_groundwater'],
  ['with both conditions', log({ ...RMR, rmr_roughness: `'rough'` }), 'ground_log_rmr_condition'],
  ['with no condition', log({ ...RMR, rmr_condition: 'null' }), 'ground_log_rmr_condition'],
  ['with a condition of no RMR', log({ rmr_condition: `'highly_weathered'` }), 'ground_log_rmr_condition'],
  [
    'with Jw that counts otherwise and no adjustment',
    log({ ...Q, q_jw_counted: '0.5' }),
    'ground_log_q_adjusted',
  ],
  [
    'with an adjustment and no note',
    log({ ...Q, q_srf_adjustment: `'{"name": "x"}'`, q_srf_counted: '1' }),
    'ground_log_q_adjusted',
  ],
  ['with an adjustment of no Q', log({ q_srf_counted: '1' }), 'ground_log_q_adjusted'],
  ['with a range and no ends', log({ ...Q, q_range: `'{}'` }), 'ground_log_q_range'],
  [
    'with a range that does not hold Q',
    log({
      ...Q,
      q_range: `'{}'`,
      q_lowest: '14',
      q_lowest_class: `'good'`,
      q_lowest_of: `'{}'`,
      q_highest: '15',
      q_highest_class: `'good'`,
      q_highest_of: `'{}'`,
    }),
    'ground_log_q_range',
  ],
  ['with a dip and no direction', log({ joint_dip_deg: '60' }), 'ground_log_orientation'],
  [
    'with an azimuth of 360',
    log({ joint_dip_deg: '60', joint_dip_direction_deg: '0', drive_azimuth_deg: '360' }),
    'ground_log_orientation',
  ],
  ['with another sum of RMR', log({ ...RMR, rmr: '70' }), 'ground_log_rmr_sum'],
])('a log is refused %s', async (_, sql, constraint) => {
  expect(await refusal(sql)).toContain(constraint);
});

it('the governing log is agreed as proposed, by another person', async () => {
  const as = (who: string, why = ''): string =>
    `select set_config('drivebook.actor', '${who}', true), set_config('drivebook.reason', '${why}', true);`;
  const set = (state: string): string =>
    `update ground_log_sheet set ruling_state = ${state} where name = 'A';`;
  const proposed = `${as('gina', 'why')} ${set(`'proposed'`)}`;
  const agreed = `${proposed} ${as('boris')} ${set(`'agreed'`)}`;
  expect(await refusal(`${as('gina')} ${set(`'proposed'`)}`)).toContain('ground_log_ruling_reason');
  expect(await refusal(`${as('gina', 'why')} ${set(`'agreed'`)}`)).toContain('ground_log_ruling_stands');
  expect(await refusal(`${proposed} ${set(`'agreed'`)}`)).toContain('second_person');
  expect(await refusal(agreed)).toBe('taken');
  expect(await refusal(`${agreed} update ground_log_sheet set remark = 'x'`)).toContain(
    'ground_log_ruling_stands',
  );
  expect(await refusal(`${agreed} delete from ground_log_sheet`)).toContain('ground_log_ruling_stands');
  expect(await refusal(`${agreed} update ground_log_sheet set strength_class = 'R1'`)).toBe('taken'); // computed
  expect(await refusal(`${agreed} update ground_log_sheet set ruling_agreed_by = 'x'`)).toBe('taken'); // and left as it was
  const second = `${log({ from_m: '5', mapped_place: `'crown'` })}; ${as('gina', 'why')}
    update ground_log_sheet set ruling_state = 'proposed' where name = 'L'; ${as('boris')} update ground_log_sheet set ruling_state = 'agreed' where name = 'L'`;
  expect(await refusal(`${agreed} ${second}`)).toContain('ground_log_ruling_once');
});

it('a drive with logs keeps its start and its end', async () => {
  expect(await refusal('update drive set start_chainage_m = 1001')).toContain('drive_start_fixed');
  expect(await refusal('update drive set end_chainage_m = 990.001')).toBe(
    'drive_end_behind_ground_log: the drive cannot end before 0+990.000, which a ground log reaches',
  );
  expect(await refusal('update drive set end_chainage_m = 990')).toBe('taken');
});
