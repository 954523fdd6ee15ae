import fc from 'fast-check';

/** A named write to the record as SQL. It may be refused. */
export interface Write {
  name: string;
  sql: string;
}

/** Places of the drive, and a drive of the project: 1, or 3 beside it. */
const metre = fc.integer({ min: 0, max: 60 });
const drive = fc.constantFrom(1, 1, 1, 3);
const few = fc.integer({ min: 1, max: 6 });

const write = <T extends object>(
  name: string,
  of: { [K in keyof T]: fc.Arbitrary<T[K]> },
  sql: (trial: T) => string,
): fc.Arbitrary<Write> => fc.record(of).map((trial) => ({ name, sql: sql(trial as T) }));

const day = fc.integer({ min: 1, max: 9 }).map((n) => `'2027-03-0${n}'`);

/** Writes of the data on which the assessment of support depends. */
export const JUDGED: fc.Arbitrary<Write>[] = [
  write(
    'a stroke',
    { d: drive, day, n: few },
    ({ d, day: on, n }) => `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
    select ${d}, coalesce(max(stroke_number), 0) + 1, coalesce(max(to_m), 0), coalesce(max(to_m), 0) + ${n}, greatest(max(ended_at), ${on}::date + time '06:00'),
      greatest(max(ended_at), ${on}::date + time '06:00') + interval '1 hour' from boring where drive_id = ${d}`,
  ),
  write(
    'a stroke corrected',
    { d: drive, n: few },
    ({ d, n }) =>
      `update boring set to_m = to_m - ${n} * 0.1 where id = (select max(id) from boring where drive_id = ${d})`,
  ),
  write(
    'a stroke removed',
    { d: drive },
    ({ d }) => `delete from boring where id = (select max(id) from boring where drive_id = ${d})`,
  ),
  write(
    'support',
    { d: drive, m: metre, n: few, zone: fc.constantFrom('Z-ALPHA', 'L1') },
    ({ d, m, n, zone }) =>
      `insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
      select ${d}, s.id, coalesce((select max(line) from support_installed l where l.shift_id = s.id), 0) + 1, 100, 'nr', '${zone}', ${m}, ${m + n - 1}, ${n}
      from shift s where s.drive_id = ${d} and s.state = 'draft' limit 1`,
  ),
  write(
    'support corrected',
    { d: drive, n: few },
    ({ d, n }) =>
      `update support_installed set quantity = ${n} where id = (select max(id) from support_installed where drive_id = ${d})`,
  ),
  write(
    'support removed',
    { d: drive },
    ({ d }) =>
      `delete from support_installed where id = (select max(id) from support_installed where drive_id = ${d})`,
  ),
  write(
    'ground',
    { d: drive, m: metre, n: few, c: fc.constantFrom(100, 199) },
    ({ d, m, n, c }) => `insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id)
    select ${d}, s.id, ${m}, ${m + n}, ${c} from shift s where s.drive_id = ${d} and s.state = 'draft' limit 1`,
  ),
  write(
    'ground removed',
    { d: drive },
    ({ d }) =>
      `delete from ground_interval where id = (select max(id) from ground_interval where drive_id = ${d})`,
  ),
  write(
    'a class decision',
    { d: drive, m: metre, n: few, c: fc.constantFrom(100, 199) },
    ({ d, m, n, c }) =>
      `insert into class_decision (project_id, drive_id, number, from_m, to_m, ground_class_id, contractor_representative, employer_representative)
      select 1, ${d}, coalesce(max(number), 0) + 1, ${m}, ${m + n}, ${c}, 'C', 'E' from class_decision where drive_id = ${d}`,
  ),
  write(
    'a class decision agreed',
    { d: drive },
    ({ d }) => `select set_config('drivebook.actor', 'second', true);
    update class_decision set state = 'agreed', contractor_representative = 'C', employer_representative = 'E'
      where id = (select max(id) from class_decision where drive_id = ${d})`,
  ),
  write(
    'a standard',
    { c: fc.constantFrom(100, 199), day, n: few, id: fc.integer({ min: 1000, max: 9_999_999 }) },
    ({ c, day: from, n, id }) =>
      `insert into standard_support (id, project_id, ground_class_id, edition, revision, valid_from) values (${id}, 1, ${c}, 'x', 'r${id}', ${from});
      insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m) values (1, ${id}, 100, 'nr', 'Z-ALPHA', ${n})`,
  ),
  write(
    'a standard by spacing',
    { n: few, zone: fc.constantFrom('Z-ALPHA', 'L1') },
    ({ n, zone }) =>
      `insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, spacing_m, spacing_tolerance_m, pieces_per_row)
      select 1, max(id), 100, 'nr', '${zone}', ${n} * 0.5, 0, 1 + ${n} % 2 from standard_support where project_id = 1`,
  ),
  write(
    'a standard corrected',
    { n: few },
    ({ n }) =>
      `update standard_support_item set quantity_per_m = ${n} where project_id = 1 and quantity_per_m is not null`,
  ),
  write(
    'a standard removed',
    {},
    () =>
      `delete from standard_support where id = (select max(id) from standard_support where project_id = 1)`,
  ),
  write(
    'a design section',
    { d: drive, m: metre, n: few, id: fc.integer({ min: 1000, max: 9_999_999 }) },
    ({ d, m, n, id }) =>
      `insert into design_section (id, project_id, drive_id, name, from_m, to_m, edition) values (${id}, 1, ${d}, 'S${id}', ${m}, ${m + n}, 'x');
      insert into design_section_item (project_id, design_section_id, support_item_id, unit, zone, quantity_per_m) values (1, ${id}, 100, 'nr', 'Z-ALPHA', ${n})`,
  ),
  write(
    'what a section demands',
    { d: drive, n: few },
    ({ d, n }) =>
      `update design_section_item i set quantity_per_m = ${n} from design_section s where s.id = i.design_section_id and s.drive_id = ${d}`,
  ),
  write(
    'a section removed',
    { d: drive },
    ({ d }) =>
      `delete from design_section where id = (select max(id) from design_section where drive_id = ${d})`,
  ),
  write(
    'a limit',
    { d: drive, day, n: few },
    ({ d, day: from, n }) =>
      `insert into drive_support_limit (project_id, drive_id, zone, limit_m, valid_from, revision) values (1, ${d}, 'Z-ALPHA', ${n}, ${from}, 'r' || ${from})`,
  ),
  write(
    'a limit corrected',
    { d: drive, n: few },
    ({ d, n }) => `update drive_support_limit set limit_m = ${n} where drive_id = ${d}`,
  ),
  write(
    'a zone',
    { n: few },
    ({ n }) =>
      `update working_zone set to_behind_m = ${n} * 5, from_behind_m = 0 where project_id = 1 and code = 'Z-ALPHA'`,
  ),
  write(
    'another zone',
    { n: few },
    ({ n }) => `insert into working_zone (project_id, code, name) values (1, 'L${n + 2}', 'x')`,
  ),
  write(
    'an item',
    { n: few },
    ({ n }) =>
      `insert into support_item (project_id, code, kind, unit, description) values (1, 'I${n}', 'mesh', 'm2', 'x')`,
  ),
  write(
    'a class by another code',
    { n: few },
    ({ n }) => `update ground_class set code = 'K${n}' where id = 100`,
  ),
  write(
    'the start of day',
    { t: fc.constantFrom('00:00', '06:00', '12:00') },
    ({ t }) => `update project set day_start = '${t}' where id = 1`,
  ),
  write(
    'the zone of the clocks',
    { z: fc.constantFrom('UTC', 'Europe/Zurich', 'Asia/Tokyo') },
    ({ z }) => `update project set time_zone = '${z}' where id = 1`,
  ),
  write(
    'the diameter',
    { d: drive, n: few },
    ({ d, n }) => `update drive set bored_diameter_m = 5 + ${n} where id = ${d}`,
  ),
];

/** Writes in the same project on which it does not depend. */
export const BESIDE: fc.Arbitrary<Write>[] = [
  write('a machine', { n: few }, ({ n }) => `update machine set name = 'M ${n}' where project_id = 1`),
  write(
    'a machine’s revision',
    { day, n: few },
    ({ day: from, n }) =>
      `insert into machine_revision (project_id, machine_id, valid_from, revision, disc_count, disc_radius_mm, stroke_length_m) values (1, 100, ${from}, 'r' || ${from}, 40, 216, ${n})`,
  ),
  write(
    'a calendar',
    { n: few },
    ({ n }) => `update calendar_shift set weekdays = '{${n}}' where project_id = 1`,
  ),
  write(
    'a closure',
    { n: few },
    ({ n }) =>
      `insert into site_closure (project_id, drive_id, code, name, from_date, to_date, planned) values (1, null, 'C${n}', 'x', '2027-09-0${n}', '2027-09-0${n}', true)`,
  ),
  write(
    'equipment',
    { n: few },
    ({ n }) => `insert into equipment (project_id, code, description) values (1, 'E${n}', 'x')`,
  ),
  write(
    'an activity',
    { n: few },
    ({ n }) =>
      `insert into activity (project_id, drive_id, shift_id, started_at, ended_at, activity_code_id) values (1, 1, 101, '2027-03-03 0${n + 5}:00Z', '2027-03-03 0${n + 5}:30Z', 101)`,
  ),
  write(
    'a ground log',
    { n: few },
    ({ n }) =>
      `insert into ground_log_sheet (project_id, drive_id, name, from_m, to_m, mapped_by, mapped_at) values (1, 1, 'G${n}', ${n}, ${n + 2}, 'g', '2027-03-01 12:00Z')`,
  ),
  write(
    'a member',
    { n: few },
    ({ n }) => `insert into member (project_id, subject, role) values (1, 'm${n}', 'viewer')`,
  ),
  write(
    'overbreak',
    { n: few },
    ({ n }) =>
      `insert into overbreak_item (project_id, drive_id, name, from_m, to_m, cause, volume_m3, volume_surveyed) values (1, 1, 'OB${n}', ${n}, ${n + 1}, 'geological', 1, true)`,
  ),
  write(
    'a programme',
    { n: few },
    ({ n }) => `update programme_point set planned_m = planned_m + ${n} where drive_id = 1`,
  ),
];

/** More writes that affect the assessment only from a place on, also in the middle of a drive. */
export const IN_PART: fc.Arbitrary<Write>[] = [
  write(
    'a stroke in two parts',
    { day, n: few },
    ({ day: on, n }) => `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
    select 1, max(stroke_number), max(to_m), max(to_m) + ${n} * 0.4, greatest(max(ended_at), ${on}::date + time '06:00'),
      greatest(max(ended_at), ${on}::date + time '06:00') + interval '1 hour' from boring where drive_id = 1`,
  ),
  write(
    'a stroke within corrected',
    { m: metre, n: few },
    ({ m, n }) =>
      `update boring set to_m = from_m + (to_m - from_m) * ${n} / 7 where id = (select id from boring where drive_id = 1 and from_m >= ${m} order by from_m limit 1)`,
  ),
  write(
    'a stroke within removed',
    { m: metre },
    ({ m }) =>
      `delete from boring where id = (select id from boring where drive_id = 1 and from_m >= ${m} order by from_m limit 1)`,
  ),
  write(
    'a stroke without times',
    { n: few },
    ({ n }) =>
      `insert into boring (drive_id, stroke_number, from_m, to_m) select 1, max(stroke_number) + 1, max(to_m), max(to_m) + ${n} * 0.7 from boring where drive_id = 1`,
  ),
  write(
    'the times of a stroke',
    { m: metre, day },
    ({ m, day: on }) =>
      `update boring set started_at = ${on}::date + time '06:00', ended_at = ${on}::date + time '06:30'
      where id = (select id from boring where drive_id = 1 and from_m >= ${m} order by from_m limit 1)`,
  ),
  write(
    'support from stroke to stroke',
    { m: metre, n: few, length: few },
    ({ m, n, length }) =>
      `insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
      select 1, s.id, coalesce((select max(line) from support_installed l where l.shift_id = s.id), 0) + 1, 100, 'nr', 'Z-ALPHA', b.from_m, b.from_m + ${length} * 0.9, ${n}
      from shift s join boring b on b.drive_id = 1 where s.drive_id = 1 and s.state = 'draft' and b.from_m >= ${m} order by b.from_m limit 1`,
  ),
  write(
    'a class decision withdrawn',
    { n: few },
    () =>
      `update class_decision set state = 'withdrawn', withdrawn_by = 'x', withdrawn_at = now() where id = (select max(id) from class_decision where drive_id = 1)`,
  ),
  write(
    'parts of a piece demanded',
    { n: few },
    ({ n }) =>
      `update standard_support_item set quantity_per_m = ${n} * 0.37, tolerance_percent = ${n} * 5 where project_id = 1 and quantity_per_m is not null`,
  ),
];
