import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalToOwner } from '../harness/service-role.js';

// The rules that the database enforces, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

const RECORD = `
  insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR');
  insert into calendar_shift (id, project_id, name, start_time, end_time, weekdays) values (1, 1, 'day', '06:00', '18:00', '{1,2,3}');
  insert into activity_code (id, project_id, code, description, counts_as) values (1, 1, 'BORE', 'Boring', 'boring'), (2, 1, 'STOP', 'Stop', 'waiting');
  insert into equipment (id, project_id, code, description) values (1, 1, 'BELT', 'Main belt');
  insert into ground_class (id, project_id, code, description) values (1, 1, 'A', 'Good');
  insert into support_item (id, project_id, code, kind, unit, description) values (1, 1, 'BOLT', 'bolt', 'nr', 'Bolt'), (2, 1, 'MESH', 'mesh', 'm2', 'Mesh');
  insert into drive (id, project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 1000, 900, -1, 7);
  insert into shift (id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest) values
    (1, 1, '2027-03-01', 1, '2027-03-01 06:00Z', '2027-03-01 18:00Z', 'submitted', 'a'),
    (2, 1, '2027-03-02', 1, '2027-03-02 06:00Z', '2027-03-02 18:00Z', 'draft', 'b'),
    (3, 1, '2027-03-03', 1, '2027-03-03 06:00Z', '2027-03-03 18:00Z', 'draft', 'c');
  insert into boring (id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at) values
    (1, 1, 1, 1, 0, 10, '2027-03-01 06:00Z', '2027-03-01 08:00Z'),
    (2, 1, 2, 2, 20, 30, '2027-03-02 08:00Z', '2027-03-02 10:00Z');
  insert into activity (id, drive_id, shift_id, started_at, ended_at, activity_code_id) values
    (1, 1, 1, '2027-03-01 06:00Z', '2027-03-01 08:00Z', 1), (2, 1, 1, '2027-03-01 08:00Z', '2027-03-01 18:00Z', 2);
  insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id) values (1, 1, 0, 10, 1);
  alter sequence shift_id_seq restart 100; alter sequence boring_id_seq restart 100; alter sequence activity_id_seq restart 100;
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

const investigation = (from: number, to: number, face: number): string =>
  `insert into investigation (drive_id, name, method, from_m, to_m, face_m, made_at, made_by)
    values (1, 'V', 'resistivity', ${from}, ${to}, ${face}, now(), 'G.')`;

const indication = (from: number, to: number): string =>
  `insert into indication (investigation_id, key, kind, from_m, to_m, from_uncertainty_m, to_uncertainty_m)
    select id, 'I', 'void', ${from}, ${to}, 0, 0 from investigation where name = 'V'`;

const boring = (
  shift: number | 'null',
  stroke: number,
  from: number,
  to: number,
  start: string,
  end: string,
): string =>
  `insert into boring (drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
   values (1, ${shift}, ${stroke}, ${from}, ${to}, ${start === 'null' ? 'null, null' : `'${start}', '${end}'`});`;

const activity = (shift: number, code: number, start: string, end: string): string =>
  `insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id) values (1, ${shift}, '${start}', '${end}', ${code});`;

const support = (item: number, unit: string, from: number, to: number, quantity: number): string =>
  `insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
   values (1, 2, 1, ${item}, '${unit}', 'L1', ${from}, ${to}, ${quantity});`;

const tiledDay = (date: string): string =>
  activity(3, 1, `${date} 06:00Z`, `${date} 07:00Z`) + activity(3, 2, `${date} 07:00Z`, `${date} 18:00Z`);

const submit3 = `update shift set state = 'submitted' where id = 3;`;

describe('metres', () => {
  it.each([
    ['stand once', boring(2, 2, 9.999, 12, '2027-03-02 06:00Z', '2027-03-02 07:00Z'), 'boring_metres_once'],
    ['stand once, imported or not', boring('null', 1, 5, 6, 'null', ''), 'boring_metres_once'],
    ['have a length', boring(2, 2, 12, 12, '2027-03-02 06:00Z', '2027-03-02 07:00Z'), 'boring_has_length'],
    [
      'do not run backwards',
      boring(2, 2, 13, 12, '2027-03-02 06:00Z', '2027-03-02 07:00Z'),
      'boring_has_length',
    ],
    [
      'do not begin behind the start',
      boring(2, 0, -1, 0, '2027-03-02 06:00Z', '2027-03-02 07:00Z'),
      'boring_has_length',
    ],
    [
      'end with the drive',
      boring(2, 3, 99, 100.001, '2027-03-02 11:00Z', '2027-03-02 12:00Z'),
      'within_drive: 0+899.999 lies beyond the end of the drive at 0+900.000',
    ],
    [
      'end with the drive when they are moved there',
      `update boring set from_m = 99, to_m = 100.001 where id = (select max(id) from boring where drive_id = 1)`,
      'within_drive',
    ],
    [
      'end with the drive for ground',
      `insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id) values (1, 2, 99, 101, 1)`,
      'within_drive',
    ],
    ['end with the drive for support', support(1, 'nr', 99, 101, 1), 'within_drive'],
    [
      'have one ground class',
      `insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id) values (1, 2, 9, 11, 1)`,
      'ground_interval_once',
    ],
    [
      'rise with the stroke numbers',
      boring(2, 3, 12, 14, '2027-03-02 06:00Z', '2027-03-02 07:00Z'),
      'stroke_numbers_rise: stroke 2 lies ahead of stroke 3',
    ],
    [
      'rise with time',
      boring(2, 3, 32, 34, '2027-03-02 06:00Z', '2027-03-02 07:00Z'),
      'boring_times_rise: stroke 3 lies ahead of stroke 2 but was bored before it',
    ],
    [
      'rise with the stroke numbers ahead',
      boring(2, 1, 32, 34, '2027-03-02 11:00Z', '2027-03-02 12:00Z'),
      'stroke_numbers_rise: stroke 1 lies ahead of stroke 2',
    ],
    [
      'rise with time behind',
      boring(2, 1, 12, 14, '2027-03-02 11:00Z', '2027-03-02 12:00Z'),
      'boring_times_rise: stroke 2 lies ahead of stroke 1 but was bored before it',
    ],
    [
      'are all there when a draft is submitted',
      activity(2, 2, '2027-03-02 06:00Z', '2027-03-02 08:00Z') +
        activity(2, 1, '2027-03-02 08:00Z', '2027-03-02 10:00Z') +
        activity(2, 2, '2027-03-02 10:00Z', '2027-03-02 18:00Z') +
        `set constraints all immediate; update shift set state = 'submitted' where id = 2`,
      'metres_contiguous: stroke 2 starts at 0+980.000, but the face was at 0+990.000: 10.000 m missing',
    ],
    [
      'are all there behind a submitted stroke, those of drafts too',
      boring(3, 3, 30, 31, '2027-03-03 06:00Z', '2027-03-03 07:00Z') + tiledDay('2027-03-03') + submit3,
      'metres_contiguous: stroke 2 starts at 0+980.000, but the face was at 0+990.000: 10.000 m missing',
    ],
    [
      'stay behind a submitted stroke',
      boring(2, 2, 10, 20, '2027-03-02 06:00Z', '2027-03-02 07:00Z') +
        boring(3, 3, 30, 31, '2027-03-03 06:00Z', '2027-03-03 07:00Z') +
        tiledDay('2027-03-03') +
        submit3 +
        'set constraints all immediate; delete from boring where id = 2',
      'metres_contiguous: 10.000 m would be missing between 0+980.000 and 0+970.000 behind a submitted stroke',
    ],
  ])('%s', async (_, sql, expected) => {
    expect(await refusal(sql)).toContain(expected);
  });
});

describe('minutes', () => {
  it.each([
    [
      'stand once in the borings',
      boring(2, 3, 32, 34, '2027-03-02 09:00Z', '2027-03-02 11:00Z'),
      'boring_minutes_once',
    ],
    [
      'stand once in the activities',
      activity(1, 2, '2027-03-01 17:00Z', '2027-03-01 18:00Z'),
      'activity_minutes_once',
    ],
    [
      'stand once in the shifts',
      `insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest) values (1, '2027-03-04', 1, '2027-03-01 17:00Z', '2027-03-01 19:00Z', 'draft', 'd')`,
      'shift_minutes_once',
    ],
    [
      'of an activity lie inside its shift',
      activity(2, 2, '2027-03-02 17:00Z', '2027-03-02 18:01Z'),
      'activity_inside_shift',
    ],
    [
      'of a boring lie inside its shift',
      boring(2, 3, 32, 34, '2027-03-02 17:00Z', '2027-03-02 18:01Z'),
      'boring_inside_shift',
    ],
    [
      'stay inside when the shift is cut',
      `update shift set ends_at = '2027-03-02 09:00Z' where id = 2`,
      'boring_inside_shift',
    ],
    [
      'of an activity stay inside when the shift is cut',
      activity(3, 2, '2027-03-03 17:00Z', '2027-03-03 18:00Z') +
        `set constraints all immediate; update shift set ends_at = '2027-03-03 17:30Z' where id = 3`,
      'activity_inside_shift',
    ],
    ['are given in a shift', boring(2, 3, 32, 34, 'null', ''), 'boring_of_a_shift_is_timed'],
    ['do not run backwards', activity(2, 2, '2027-03-02 17:00Z', '2027-03-02 16:00Z'), 'activity_times'],
    [
      'tile a submitted shift',
      `delete from activity where id = 2`,
      'shift_minutes_tiled: a submitted shift needs every minute: 02:00:00 booked of 12:00:00',
    ],
    [
      'tile a shift to be submitted',
      `update shift set state = 'submitted' where id = 3`,
      'shift_minutes_tiled',
    ],
    [
      'of boring are those of the strokes',
      `update activity set activity_code_id = 2 where id = 1`,
      'shift_boring_time: boring time differs: 00:00:00 in the activities, 02:00:00 in the strokes',
    ],
    [
      'of boring stay those of the strokes',
      `update boring set ended_at = '2027-03-01 07:00Z' where id = 1`,
      'shift_boring_time',
    ],
    [
      'of boring are not booked short, even where others fill the shift',
      `update activity set ended_at = ended_at - interval '30 min' where id = 1;
       update activity set started_at = started_at - interval '30 min' where id = 2`,
      'shift_boring_time: boring time differs: 01:30:00 in the activities, 02:00:00 in the strokes',
    ],
    [
      'keep how their code counts',
      `update activity_code set counts_as = 'ground' where id = 1`,
      'activity_code_fixed',
    ],
    [
      'make a shift of 25 hours at most',
      `update shift set ends_at = '2027-03-04 08:00Z' where id = 3`,
      'shift_hours',
    ],
  ])('%s', async (_, sql, expected) => {
    expect(await refusal(sql)).toContain(expected);
  });
});

describe('quantities, places and codes', () => {
  it.each([
    ['a bolt is whole', support(1, 'nr', 1, 2, 1.5), 'support_installed_quantity'],
    ['a quantity is above 0', support(2, 'm2', 1, 2, 0), 'support_installed_quantity'],
    [
      'a unit is that of its item',
      support(1, 'm2', 1, 2, 1),
      'support_installed_support_item_id_unit_project_id_fkey',
    ],
    [
      'a mesh is not counted in m3',
      `update support_item set unit = 'm3' where id = 2`,
      'support_item_unit_of_kind',
    ],
    ...[
      ['a spile is counted', `'spile', 'm2', null`, 'support_item_unit_of_kind'],
      ['an invert segment is counted', `'invert_segment', 'm3', null`, 'support_item_unit_of_kind'],
      ['a mesh has no diameter', `'mesh', 'm2', 25`, 'support_item_dimensions_of_kind'],
      ['a diameter is above 0', `'spile', 'nr', 0`, 'support_item_dimensions:'],
    ].map(([name, values, rule]) => [
      name,
      `insert into support_item (project_id, code, description, kind, unit, diameter_mm) values (1, 'X', 'X', ${values})`,
      rule,
    ]),
    ...[
      ['a bolt has no lap', 'lap_percent = 10', 'support_item_dimensions_of_kind'],
      ['a bolt has no rebound', 'rebound_percent = 10', 'support_item_dimensions_of_kind'],
      ['a pattern has both spacings', 'longitudinal_spacing_m = 1.5', 'support_item_pattern'],
      ['a pattern covers the ring at the most', 'pattern_arc_deg = 360.01', 'support_item_dimensions:'],
    ].map(([name, change, rule]) => [name, `update support_item set ${change} where id = 1`, rule]),
    ['a sheet has two sides', `update support_item set sheet_width_m = 2 where id = 2`, 'support_item_sheet'],
    [
      'a rib has one length',
      `insert into support_item (project_id, code, description, kind, unit, length_m, centre_line_diameter_m) values (1, 'R', 'R', 'rib', 'nr', 5, 7)`,
      'support_item_rib_length',
    ],
    [
      'not all that is sprayed falls off',
      `insert into support_item (project_id, code, description, kind, unit, rebound_percent) values (1, 'S', 'S', 'sprayed_concrete', 'm3', 100)`,
      'support_item_dimensions:',
    ],
    [
      'an item that is counted has no delivered volume',
      support(1, 'nr', 1, 2, 1) + `update support_installed set delivered_volume_m3 = 1`,
      'support_installed_delivered_volume',
    ],
    [
      'a delivered volume is above 0',
      support(2, 'm2', 1, 2, 1) + `update support_installed set delivered_volume_m3 = 0`,
      'support_installed_delivered_volume',
    ],
    [
      'a drive with a record keeps its direction',
      `update drive set direction = 1, end_chainage_m = 1100 where id = 1`,
      'drive_start_fixed',
    ],
    [
      'a drive does not end before its record',
      `update drive set end_chainage_m = 971 where id = 1`,
      'drive_end_behind_record: the drive cannot end before 0+970.000',
    ],
    [
      'a drive runs with its direction',
      `update drive set end_chainage_m = 1001 where id = 1`,
      'drive_chainage_runs_with_direction',
    ],
    [
      'a shift is named once a day',
      `insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest) values (1, '2027-03-01', 1, '2027-03-09 17:00Z', '2027-03-09 19:00Z', 'draft', 'd')`,
      'shift_drive_id_shift_date_calendar_shift_id_key',
    ],
    [
      'equipment is named once',
      `insert into equipment (id, project_id, code, description) values (3, 1, 'BELT', 'Another')`,
      'equipment_project_id_code_key',
    ],
    [
      'equipment has a code fit for an address',
      `insert into equipment (project_id, code, description) values (1, 'BELT 2', 'Another')`,
      'equipment_code',
    ],
    [
      'equipment is of the project of its activity',
      `insert into project (id, code, name, time_zone, day_start, currency) values (2, 'Q', 'Other', 'UTC', '06:00', 'EUR');
       insert into equipment (id, project_id, code, description) values (2, 2, 'BELT', 'Of another');
       update activity set equipment_id = 2 where id = 2`,
      'activity_equipment_id_project_id_fkey',
    ],
    [
      'equipment that an activity names stays',
      `update activity set equipment_id = 1 where id = 2; delete from equipment where id = 1`,
      'activity_equipment_id_project_id_fkey',
    ],
    [
      'a time zone is known',
      `update project set time_zone = 'Nowhere/Land'`,
      'time zone "Nowhere/Land" not recognized',
    ],
    [
      'a collar lies within the drive',
      `insert into probe_hole (drive_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m) values (1, 'H', 101, 5, 30, 29, 2)`,
      'within_drive',
    ],
    ['an investigation lies within the drive', investigation(90, 101, 90), 'within_drive'],
    ['and ahead of the face', investigation(10, 20, 11), 'investigation_ahead'],
    [
      'another method is named',
      investigation(10, 20, 10).replace(`'resistivity'`, `'other'`),
      'investigation_method_named',
    ],
    [
      'an indication lies in the range investigated',
      `${investigation(10, 20, 10)}; ${indication(19, 21)}`,
      'indications_within_range: indication I, 0+981.000 to 0+979.000, lies outside the range of investigation V, 0+990.000 to 0+980.000',
    ],
    [
      'also when the range changes',
      `${investigation(10, 20, 10)}; ${indication(19, 20)}; update investigation set to_m = 19.5`,
      'indications_within_range',
    ],
    [
      'a drive cannot end before encountered ground',
      `insert into encounter (drive_id, name, kind, from_m, to_m, source, met_at, met_by) values (1, 'E', 'void', 50, 60, 'boring', now(), 'M.');
        update drive set end_chainage_m = 950`,
      'drive_end_behind_indications',
    ],
  ])('%s', async (_, sql, expected) => {
    expect(await refusal(sql)).toContain(expected);
  });
});

describe('what balances is accepted', () => {
  it.each([
    ['a late boring that closes the gap', boring(2, 2, 10, 20, '2027-03-02 06:00Z', '2027-03-02 07:00Z')],
    [
      'a submitted shift ahead of whole metres',
      boring(2, 2, 10, 20, '2027-03-02 06:00Z', '2027-03-02 07:00Z') +
        boring(3, 3, 30, 31, '2027-03-03 06:00Z', '2027-03-03 07:00Z') +
        tiledDay('2027-03-03') +
        submit3,
    ],
    [
      'a boring removed and inserted again differently',
      `delete from boring where id = 1;` +
        boring(1, 1, 0, 4, '2027-03-01 06:00Z', '2027-03-01 07:00Z') +
        boring(1, 1, 4, 10, '2027-03-01 07:00Z', '2027-03-01 08:00Z'),
    ],
    ['a longer drive', `update drive set end_chainage_m = 800 where id = 1`],
    [
      'items with their dimensions',
      `insert into support_item (project_id, code, description, kind, unit, length_m, diameter_mm, mass_kg) values
         (1, 'S', 'S', 'spile', 'nr', 4, 32, null), (1, 'I', 'I', 'invert_segment', 'nr', 1.5, null, 2400);
       update support_item set circumferential_spacing_m = 1.5, longitudinal_spacing_m = 1.5, pattern_arc_deg = 360 where id = 1;`,
    ],
  ])('%s', async (_, sql) => {
    expect(await refusal(sql)).toBe('taken');
  });
});
