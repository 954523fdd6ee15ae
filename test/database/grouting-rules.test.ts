import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalToOwner } from '../harness/service-role.js';

// The rules that the database enforces for grouting, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

/** Against rising chainage. */
const RECORD = `
  insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR');
  insert into drive (id, project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 1000, 900, -1, 7);
  insert into bill (id, project_id, drive_id, version, valid_from, currency, minor_units) values (1, 1, 1, 'V1', '2027-01-01', 'EUR', 2);
  insert into pay_item (id, project_id, drive_id, bill_id, reference, position, description, unit, decimals, quantity, rate)
    values (1, 1, 1, 1, 'G.1', 1, 'Grout', 'kg', 1, 0, 1);
`;

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

const round = (more: object = {}): string => {
  const row = {
    ...{
      drive_id: '1',
      name: `'R'`,
      purpose: `'pre_grouting'`,
      state: `'complete'`,
      from_m: '10',
      to_m: '30',
      control_holes: `'{}'`,
    },
    ...{ started_at: `'2027-03-01 06:00Z'`, ended_at: `'2027-03-01 18:00Z'` },
    ...more,
  };
  return `insert into grout_round (${Object.keys(row).join()}) values (${Object.values(row).join()});`;
};

const rule = (more: object = {}): string => {
  const row = { source: `'grouting'`, dimension: `'mass'`, ...more };
  return `insert into measurement_rule (drive_id, pay_item_id, ${Object.keys(row).join()}) values (1, 1, ${Object.values(row).join()});`;
};

const groutHole = (more: object = {}): string => {
  const row = {
    name: `'G'`,
    collar_m: '10',
    look_out_deg: '5',
    length_m: '20',
    axial_reach_m: '19.924',
    radial_spread_m: '1.743',
    ...more,
  };
  return `${round()} insert into grout_hole (drive_id, grout_round_id, ${Object.keys(row).join()}) select 1, id, ${Object.values(row).join()} from grout_round;`;
};

const groutMix = (more: object = {}): string => {
  const row = { number: '1', material: `'cement'`, mass_kg: '500', ...more };
  return `${groutHole()} insert into grout_mix (drive_id, grout_hole_id, ${Object.keys(row).join()}) select 1, id, ${Object.values(row).join()} from grout_hole;`;
};

it.each([
  [
    'a grouting round lies within the drive',
    round({ from_m: 90, to_m: 101 }),
    'within_drive: 0+899.000 lies beyond the end',
  ],
  ['and so does its face', round({ face_m: 101 }), 'within_drive'],
  ['its interval has a length', round({ to_m: 10 }), 'grout_round_interval'],
  ['it has a name as it stands in addresses', round({ name: `'a b'` }), 'grout_round_name'],
  ['what led to it too', round({ trigger_hole: `'a b'` }), 'grout_round_trigger'],
  ['a round does not end before it begins', round({ ended_at: `'2027-03-01 05:00Z'` }), 'grout_round_times'],
  ['a complete round has ended', round({ ended_at: 'null' }), 'grout_round_times'],
  ['a control hole has a name', round({ control_holes: `'{null}'` }), 'grout_round_control_holes'],
  [
    'a drive does not end before its grouting',
    `${round()} update drive set end_chainage_m = 980`,
    'drive_end_behind_grouting',
  ],
  ['nor begins elsewhere', `${round()} update drive set start_chainage_m = 1001`, 'drive_start_fixed'],
  ['the collar of a grout hole lies within the drive', groutHole({ collar_m: 101 }), 'within_drive'],
  ['its angle is an angle', groutHole({ look_out_deg: 90 }), 'grout_hole_geometry'],
  ['its azimuth needs a position', groutHole({ look_out_azimuth_deg: 10 }), 'grout_hole_azimuth'],
  ['its name is a name', groutHole({ name: `''` }), 'grout_hole_name'],
  ['its pressure is one', groutHole({ pressure_end_bar: -1 }), 'grout_hole_pressure'],
  [
    'its grouting does not end before it begins',
    groutHole({ started_at: `'2027-03-01 08:00Z'`, ended_at: `'2027-03-01 08:00Z'` }),
    'grout_hole_times',
  ],
  ['a mix has a mass of 0 or more', groutMix({ mass_kg: -1 }), 'grout_mix_figures'],
  ['and a ratio above 0', groutMix({ water_cement_ratio: 0 }), 'grout_mix_figures'],
  ['a mix of a round is accepted', groutMix(), 'taken'],
  ['a rule measures mass of grouting', rule(), 'taken'],
  ['but no area', rule({ dimension: `'area'` }), 'measurement_rule_dimension'],
  [
    'by materials, where it measures mass or volume',
    rule({ dimension: `'length'`, materials: `'{Cement}'` }),
    'measurement_rule_filters',
  ],
  ['an empty list of materials catches nothing', rule({ materials: `'{}'` }), 'measurement_rule_filters'],
  [
    'by purposes, of grouting alone',
    rule({ source: `'probing'`, dimension: `'length'`, purposes: `'{pre_grouting}'` }),
    'measurement_rule_filters',
  ],
  ['by methods, of probing alone', rule({ methods: `'{cored}'` }), 'measurement_rule_filters'],
  ['a pay line is not for grouting', rule({ pay_diameter_m: 7 }), 'measurement_rule_filters'],
  ['activities are not for grouting', rule({ activities: `'{BORE}'` }), 'measurement_rule_filters'],
])('%s', async (_, sql, expected) => {
  expect(await refusal(sql)).toContain(expected);
});
