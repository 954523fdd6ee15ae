import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalToOwner } from '../harness/service-role.js';

// The rules that the database enforces for records ahead of the face, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

type Values = Record<string, string | number | null>;

const literal = (value: string | number | null): string =>
  typeof value === 'string' ? pg.escapeLiteral(value) : String(value);

const insert = (table: string, values: Values): string =>
  `insert into ${table} (project_id, ${Object.keys(values).join(', ')}) values (1, ${Object.values(values).map(literal).join(', ')});`;

// A drive of 100 m against rising chainage, from 1+000.
const RECORD = `
  insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR');
  insert into drive (id, project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 1000, 900, -1, 7);
`;

const hole = (more: Values = {}): string =>
  insert('probe_hole', {
    ...{ id: 1, drive_id: 1, name: 'H', collar_m: 10, look_out_deg: 0, length_m: 30 },
    ...{ axial_reach_m: 30, radial_spread_m: 0, ...more },
  });
const log = (from: number, to: number, more: Values = {}): string =>
  hole() + insert('probe_log', { drive_id: 1, probe_hole_id: 1, from_m: from, to_m: to, ...more });
const requirement = (more: Values = {}): string =>
  insert('probe_requirement', { drive_id: 1, name: 'ALL', hole_count: 2, overlap_m: 5, ...more });
const holdPoint = (more: Values = {}): string =>
  insert('hold_point', {
    id: 1,
    drive_id: 1,
    code: 'HP',
    at_m: 50,
    reason: 'Fault',
    side: 'client',
    ...more,
  });
const release = (more: Values = {}): string =>
  holdPoint() +
  insert('hold_point_release', {
    ...{ drive_id: 1, hold_point_id: 1, released_at: '2024-03-01', evidence: 'Core', ...more },
  });
const inflow = (more: Values = {}): string =>
  insert('inflow_measurement', {
    ...{ drive_id: 1, name: 'I', place: 'interval', from_m: 10, to_m: 60, method: 'bucket' },
    ...{ measured_at: '2024-03-01', flow_l_per_min: 5, ...more },
  });
const weir = (more: Values = {}): string => inflow({ place: 'portal', from_m: null, to_m: null, ...more });
const limits = (more: Values = {}): string =>
  insert('water_limit', { drive_id: 1, valid_from: '2024-03-01', ...more });
const test = (more: Values = {}): string =>
  insert('lugeon_test', {
    ...{ id: 1, drive_id: 1, name: 'T', hole: 'H', collar_m: 60, from_depth_m: 10, to_depth_m: 13 },
    ...{ static_bar: 0, groundwater_bar: 0, tested_at: '2024-03-01', representative_lu: 5 },
    ...{ lugeon_class: 'moderate', ...more },
  });
const step = (more: Values = {}): string =>
  test() +
  insert('lugeon_step', {
    ...{ lugeon_test_id: 1, number: 1, gauge_bar: 5, friction_bar: 0, flow_l_per_min: 10 },
    ...{ duration_min: 10, net_bar: 5, lugeon: 6, ...more },
  });
const investigation = (more: Values = {}): string =>
  insert('investigation', {
    ...{ id: 1, drive_id: 1, name: 'V', method: 'resistivity', from_m: 20, to_m: 60, face_m: 10 },
    ...{ made_at: '2024-03-01', made_by: 'G.', ...more },
  });
const indication = (more: Values = {}): string =>
  investigation() +
  insert('indication', {
    ...{ investigation_id: 1, key: 'I', kind: 'void', from_m: 30, to_m: 31 },
    ...{ from_uncertainty_m: 0, to_uncertainty_m: 0, ...more },
  });
const encounter = (more: Values = {}): string =>
  insert('encounter', {
    ...{ drive_id: 1, name: 'E', kind: 'void', from_m: 50, to_m: 60, source: 'boring' },
    ...{ met_at: '2024-03-01', met_by: 'M.', ...more },
  });

/** Bypasses triggers that would correct or refuse it first. */
const unheld = (sql: string): string => `set local session_replication_role = replica; ${sql}`;
const withdrawn = `update hold_point_release set withdrawn_at = now(), withdrawn_by = 'X', withdrawal_reason = 'Wrong';`;
const because = `set local drivebook.reason = 'Wrong';`;
const earlierEnd = `update drive set end_chainage_m = 951;`;
const otherStart = `update drive set start_chainage_m = 1001;`;

type Case = [what: string, sql: string, expected: string];

const CASES: Record<string, Case[]> = {
  'a probe hole': [
    ['was planned with a length', hole({ planned_length_m: 0 }), 'probe_hole_drilling'],
    ['has a diameter', hole({ diameter_mm: 0 }), 'probe_hole_drilling'],
    ['looks out in a direction', hole({ position_deg: 0, look_out_azimuth_deg: 361 }), 'probe_hole_azimuth'],
    ['looks out from a position', hole({ look_out_azimuth_deg: 90 }), 'probe_hole_azimuth'],
    ['is logged over a length', log(5, 5), 'probe_log_has_length'],
    ['is logged from its collar', log(-1, 5), 'probe_log_has_length'],
    ['is logged with figures of size', log(0, 5, { flushing_loss_percent: 101 }), 'probe_log_size'],
    ['is logged with no negative inflow', log(0, 5, { water_inflow_l_per_min: -1 }), 'probe_log_size'],
    ['is logged with no negative pressure', log(0, 5, { water_pressure_bar: -1 }), 'probe_log_size'],
    ['is logged with no negative rate', log(0, 5, { penetration_rate_m_per_min: -1 }), 'probe_log_size'],
    [
      'is logged once',
      log(0, 5) + insert('probe_log', { drive_id: 1, probe_hole_id: 1, from_m: 4.999, to_m: 6 }),
      'probe_log_once',
    ],
    [
      'is logged as far as it was drilled',
      log(0, 30.001),
      'probe_log_within_hole: the log of probe hole H reaches 30.001 m; the hole was drilled to 30.000 m',
    ],
    [
      'is as long as its log',
      `${log(0, 20)} update probe_hole set length_m = 19.999`,
      'probe_log_within_hole',
    ],
  ],
  'a probe requirement': [
    ['has a name', requirement({ name: 'A B' }), 'probe_requirement_name'],
    ['that is dated has a revision', requirement({ valid_from: '2024-03-01' }), 'probe_requirement_revision'],
    ['names its revision', requirement({ revision: ' ' }), 'probe_requirement_revision'],
    ['has both ends or none', requirement({ from_m: 1 }), 'probe_requirement_place'],
    ['has a length', requirement({ from_m: 1, to_m: 1 }), 'probe_requirement_place'],
    ['has no negative overlap', requirement({ overlap_m: -1 }), 'probe_requirement_size'],
    ['has no minimum length of 0', requirement({ least_length_m: 0 }), 'probe_requirement_size'],
    [
      'has sectors with both ends',
      requirement({ sector_from_deg: '{1,2}', sector_to_deg: '{3}' }),
      'probe_requirement_sectors',
    ],
    [
      'has no more sectors than holes',
      requirement({ hole_count: 1, sector_from_deg: '{1,2}', sector_to_deg: '{3,4}' }),
      'probe_requirement_sectors',
    ],
    [
      'has sectors on the ring',
      requirement({ sector_from_deg: '{1}', sector_to_deg: '{361}' }),
      'probe_requirement_sectors',
    ],
    [
      'holds alone over its length',
      requirement({ from_m: 0, to_m: 50 }) + requirement({ name: 'B', from_m: 49.999, to_m: 60 }),
      'probe_requirement_once',
    ],
    [
      'for all other lengths is one of a revision',
      requirement() + requirement({ name: 'B' }),
      'probe_requirement_one_default',
    ],
    ['lies within the drive', requirement({ from_m: 90, to_m: 101 }), 'within_drive'],
    [
      'keeps the drive as long',
      requirement({ from_m: 0, to_m: 50 }) + earlierEnd,
      'drive_end_behind_probing',
    ],
    ['keeps its start', requirement({ from_m: 0, to_m: 50 }) + otherStart, 'drive_start_fixed'],
  ],
  'a hold point': [
    ['has a code', holdPoint({ code: 'A B' }), 'hold_point_code'],
    ['has a place', holdPoint({ at_m: -0.001 }), 'hold_point_place'],
    ['has a reason', holdPoint({ reason: ' ' }), 'hold_point_reason'],
    ['names a role or none', holdPoint({ role: '' }), 'hold_point_role'],
    ['lies within the drive', holdPoint({ at_m: 100.001 }), 'within_drive'],
    ['keeps its code', `${holdPoint()} update hold_point set code = 'B'`, 'hold_point_stands'],
    ['that is released stays as it is', `${release()} update hold_point set at_m = 51`, 'hold_point_stands'],
    [
      'that was released stays',
      `${release()} ${because} ${withdrawn} delete from hold_point`,
      'hold_point_stands: hold point HP has been released',
    ],
    [
      'is released by its side',
      `${insert('party', { code: 'CL', name: 'Client', kind: 'client', side: 'client' })} ${release()}`,
      'releasing_side',
    ],
    ['is released on evidence', release({ evidence: ' ' }), 'hold_point_release_evidence'],
    ['was released by then', release({ released_at: '2199-01-01' }), 'hold_point_release_past'],
    [
      'is released once at a time',
      release() +
        insert('hold_point_release', {
          ...{ drive_id: 1, hold_point_id: 1, released_at: '2024-03-02', evidence: 'Core' },
        }),
      'hold_point_released_once',
    ],
    ['keeps its release', `${release()} delete from hold_point_release`, 'hold_point_release_stands'],
    [
      'keeps the evidence',
      `${release()} update hold_point_release set evidence = 'Other'`,
      'hold_point_release_stands',
    ],
    ['has releases withdrawn with a reason', release() + withdrawn, 'hold_point_withdrawal_reason'],
    [
      'has releases withdrawn by somebody',
      unheld(release({ recorded_at: '2024-03-01', withdrawn_at: '2024-03-02' })),
      'hold_point_release_withdrawn',
    ],
    [
      'keeps the drive as long as it lies',
      holdPoint({ at_m: 60 }) + earlierEnd,
      'drive_end_behind_hold_point',
    ],
    ['keeps its start', holdPoint() + otherStart, 'drive_start_fixed'],
  ],
  'a measurement of inflow': [
    ['has a name', inflow({ name: 'A B' }), 'inflow_measurement_name'],
    ['over an interval has a length', inflow({ to_m: 10 }), 'inflow_measurement_interval'],
    ['over an interval has one', inflow({ from_m: null, to_m: null }), 'inflow_measurement_interval'],
    ['at the portal has no interval', inflow({ place: 'portal' }), 'inflow_measurement_interval'],
    ['of a hole names it', weir({ place: 'hole' }), 'inflow_measurement_hole'],
    ['of no hole names none', weir({ hole: 'H' }), 'inflow_measurement_hole'],
    ['is not negative', inflow({ flow_l_per_min: -1 }), 'inflow_measurement_flow'],
    [
      'at the portal contains its service water',
      weir({ service_water_l_per_min: 5.001 }),
      'inflow_measurement_service_water',
    ],
    [
      'elsewhere has no service water',
      inflow({ service_water_l_per_min: 1 }),
      'inflow_measurement_service_water',
    ],
    ['lies within the drive', inflow({ to_m: 100.001 }), 'within_drive'],
    ['keeps the drive as long', inflow() + earlierEnd, 'drive_end_behind_inflow'],
    ['keeps its start', inflow() + otherStart, 'drive_start_fixed'],
    ['is judged from a day of the calendar', limits({ valid_from: '2200-01-01' }), 'water_limit_valid_from'],
    ['is judged by no negative trigger', limits({ per_100m_l_per_min: -1 }), 'water_limit_not_negative'],
    [
      'is judged by no negative trigger of a hole',
      limits({ per_hole_l_per_min: -1 }),
      'water_limit_not_negative',
    ],
    ['is judged by no negative total', limits({ total_l_per_min: -1 }), 'water_limit_not_negative'],
    ['is judged by no negative capacity', limits({ pumping_l_per_min: -1 }), 'water_limit_not_negative'],
  ],
  'a water test': [
    ['has a name', test({ name: 'A B' }), 'lugeon_test_name'],
    ['names its hole', test({ hole: '' }), 'lugeon_test_hole'],
    ['has a section', test({ to_depth_m: 10 }), 'lugeon_test_section'],
    ['has a collar behind the face', test({ collar_m: -1 }), 'lugeon_test_collar'],
    [
      'is longer than wide',
      test({ hole_diameter_mm: 3000, moye_m_per_s: 1e-7, thiem_m_per_s: 1e-7 }),
      'lugeon_test_diameter',
    ],
    ['has no negative groundwater', test({ groundwater_bar: -1 }), 'lugeon_test_groundwater'],
    ['has a conductivity by its diameter', test({ hole_diameter_mm: 76 }), 'lugeon_test_conductivity'],
    ['has a value', test({ representative_lu: -1 }), 'lugeon_test_conductivity'],
    ['counts its steps', step({ number: 0 }), 'lugeon_step_number'],
    ['has pressure left', step({ net_bar: 0 }), 'lugeon_step_figures'],
    ['has steps that last', step({ duration_min: 0 }), 'lugeon_step_figures'],
    ['has no negative flow', step({ flow_l_per_min: -1 }), 'lugeon_step_figures'],
    ['lies within the drive', test({ collar_m: 100.001 }), 'within_drive'],
    ['keeps the drive as long', test() + earlierEnd, 'drive_end_behind_water_tests'],
    ['keeps its start', test() + otherStart, 'drive_start_fixed'],
  ],
  'an investigation': [
    ['has a code', investigation({ name: 'A B' }), 'investigation_code'],
    ['names another method', investigation({ method: 'other' }), 'investigation_method_named'],
    ['names no other method', investigation({ method_name: 'Radar' }), 'investigation_method_named'],
    ['is a hole by its method only', investigation({ probe_hole: 'H' }), 'investigation_hole'],
    ['looks ahead', investigation({ face_m: 20.001 }), 'investigation_ahead'],
    ['looks over a length', investigation({ to_m: 20 }), 'investigation_ahead'],
    ['lies within the drive', investigation({ to_m: 100.001 }), 'within_drive'],
    ['has indications with a code', indication({ key: 'A B' }), 'indication_code'],
    ['has indications from and to', indication({ to_m: 29 }), 'indication_place'],
    ['has no negative uncertainty', indication({ to_uncertainty_m: -1 }), 'indication_place'],
    ['has indications in its range', indication({ to_m: 60.001 }), 'indications_within_range'],
    ['keeps the drive as long', investigation() + earlierEnd, 'drive_end_behind_indications'],
    ['keeps its start', investigation() + otherStart, 'drive_start_fixed'],
    [
      'is compared with a tolerance',
      'update drive set indication_tolerance_m = 100.001',
      'drive_indication_tolerance',
    ],
  ],
  'what was met': [
    ['has a code', encounter({ name: 'A B' }), 'encounter_code'],
    ['lies from and to', encounter({ to_m: 49 }), 'encounter_place'],
    ['was met by a face of the drive', encounter({ face_m: -1 }), 'encounter_place'],
    ['lies within the drive', encounter({ to_m: 100.001 }), 'within_drive'],
    ['keeps the drive as long', encounter() + earlierEnd, 'drive_end_behind_indications'],
    ['keeps its start', encounter() + otherStart, 'drive_start_fixed'],
  ],
};

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await client.connect();
  await client.query(RECORD);
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

const refusal = (sql: string): Promise<string> => refusalToOwner(client, sql);

describe.each(Object.entries(CASES))('%s', (_, cases) => {
  it.each(cases)('%s', async (__, sql, expected) => {
    const said = await refusal(sql);
    expect(said.startsWith(expected) ? expected : said).toBe(expected);
  });
});

it('valid rows are accepted', async () => {
  const all = [log(0, 5), requirement(), release(), inflow(), limits(), step(), indication(), encounter()];
  expect(await refusal(all.join(' '))).toBe('taken');
});

const TABLES = [
  ...['probe_log', 'probe_requirement', 'hold_point', 'hold_point_release', 'inflow_measurement'],
  ...['water_limit', 'lugeon_test', 'lugeon_step', 'investigation', 'indication', 'encounter'],
];

it('each check and exclusion of these tables has a case', async () => {
  const { rows } = await client.query<{ conname: string }>(
    `select conname from pg_constraint where contype in ('c', 'x') and conrelid = any ($1::regclass[])`,
    [TABLES],
  );
  expect(rows.length).toBeGreaterThan(30);
  const tried = Object.values(CASES).flatMap((cases) =>
    cases.map(([, , expected]) => expected.split(':')[0]),
  );
  expect(rows.map(({ conname }) => conname).filter((name) => !tried.includes(name))).toEqual([]);
});
