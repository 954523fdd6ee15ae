import type pg from 'pg';
import { aDrive, aProject } from '../builders/project.js';
import { rowsOf, serviceSession, takenBack } from '../harness/service-role.js';
import { startApp, type TestApp } from '../harness/app.js';

// Every reading of one drive reads that drive's record only: the blocks it touches do not grow with the other drives of the project.
// The readings are those of schema report: views with a drive_id, functions that take a drive.

let app: TestApp;
let client: pg.Client;

/** Strokes, notes, lines and activities of the drive to be read, and of each of the others before and after they grow. */
const OWN = 300;
const OTHERS = { few: 1000, many: 2400 };
const DRIVES = 4;

/** Records ahead and behind: one of each kind per stroke; of indications and encounters, which are compared with one another, a tenth. */
const AHEAD = `
    create temp table few on commit drop as select m.*, 'x' || m.n as name, m.starts_at + interval '1 hour' as at from made m join drive d on d.id = m.drive_id where d.code <> 'N' or line = 0;
    insert into probe_hole (project_id, drive_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m, water_inflow_l_per_min, drilled_at)
      select project_id, drive_id, 'x' || n, from_m, 5, 30, 29.886, 2.615, 3, starts_at from made;
    insert into probe_log (project_id, drive_id, probe_hole_id, from_m, to_m, water_inflow_l_per_min)
      select m.project_id, m.drive_id, h.id, 0, 30, 3 from made m join probe_hole h on h.drive_id = m.drive_id and h.name = 'x' || m.n;
    insert into probe_requirement (project_id, drive_id, name, from_m, to_m, hole_count, overlap_m) select project_id, drive_id, 'x' || n, from_m, to_m, 1, 5 from made;
    insert into hold_point (project_id, drive_id, code, at_m, reason, side) select project_id, drive_id, 'x' || n, from_m, 'x', 'client' from made;
    insert into hold_point_release (project_id, drive_id, hold_point_id, released_at, evidence, released_by, recorded_at)
      select h.project_id, h.drive_id, h.id, m.starts_at, 'x', 'x', m.starts_at from made m join hold_point h on h.drive_id = m.drive_id and h.code = 'x' || m.n where m.line > 0;
    insert into water_limit (project_id, drive_id, valid_from, per_100m_l_per_min, per_hole_l_per_min) select project_id, drive_id, date '2000-01-01' + n, 1, 1 from made;
    insert into lugeon_test (project_id, drive_id, name, hole, from_depth_m, to_depth_m, static_bar, groundwater_bar, tested_at, representative_lu, lugeon_class)
      select project_id, drive_id, 'x' || n, 'x' || n, 10, 13, 0, 0, starts_at, 12, 'moderate' from made;
    insert into lugeon_step (project_id, lugeon_test_id, number, gauge_bar, friction_bar, flow_l_per_min, duration_min, net_bar, lugeon)
      select m.project_id, t.id, 1, 5, 0, 18, 10, 5, 12 from made m join lugeon_test t on t.drive_id = m.drive_id and t.name = 'x' || m.n;
    insert into investigation (project_id, drive_id, name, method, from_m, to_m, face_m, made_at, made_by)
      select project_id, drive_id, name, 'reflection_seismic', from_m, from_m + 40, from_m, at, 'x' from few;
    insert into indication (project_id, investigation_id, key, kind, from_m, to_m, from_uncertainty_m, to_uncertainty_m)
      select f.project_id, v.id, 'x', 'fractured', from_m + 10, from_m + 12, 1, 1 from few f join investigation v using (drive_id, name, from_m);
    insert into encounter (project_id, drive_id, name, kind, from_m, to_m, source, met_at, met_by)
      select project_id, drive_id, name, 'fractured', from_m, to_m, 'boring', at, 'x' from few;
    insert into discontinuity (project_id, drive_id, name, at_m, type, dip_deg, dip_direction_deg, set_label, pole_east, pole_north, pole_down)
      select project_id, drive_id, name, from_m, 'joint', 0, 0, 'J1', 0, 0, 1 from few;
    insert into overbreak_item (project_id, drive_id, name, from_m, to_m, cause, volume_m3, volume_surveyed)
      select project_id, drive_id, name, from_m, to_m, 'geological', 1.5, true from few;`;

/** Fills the drives without triggers, which would be slow: a shift has ten rows of each kind. */
const grow = (drives: string, from: number, to: number): Promise<unknown> =>
  app.sql(`begin; set local session_replication_role = replica;
    insert into shift (project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      select d.project_id, d.id, date '2027-01-01' + n, c.id, timestamptz '2027-01-01 06:00Z' + n * interval '1 day',
        timestamptz '2027-01-01 18:00Z' + n * interval '1 day', 'submitted', 'x'
      from drive d join calendar_shift c on c.name = 'day', generate_series(${from / 10}, ${to / 10 - 1}) n where ${drives};
    create temp table made on commit drop as
      select d.id as drive_id, d.project_id, s.id as shift_id, s.starts_at, n, n * 0.4 as from_m, (n + 1) * 0.4 as to_m, n % 10 as line
      from drive d join generate_series(${from}, ${to - 1}) n on true
      join shift s on s.drive_id = d.id and s.shift_date = date '2027-01-01' + n / 10 where ${drives};
    insert into boring (project_id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at, penetration_rate_m_per_h, muck_mass_t)
      select project_id, drive_id, shift_id, n + 1, from_m, to_m, starts_at + line * interval '1 hour', starts_at + line * interval '1 hour' + interval '30 min', 2, 40 from made;
    insert into ground_interval (project_id, drive_id, shift_id, from_m, to_m, ground_class_id)
      select m.project_id, drive_id, shift_id, from_m, to_m, c.id from made m join ground_class c on c.code = case n % 2 when 0 then 'A' else 'B' end;
    insert into activity (project_id, drive_id, shift_id, started_at, ended_at, activity_code_id)
      select m.project_id, drive_id, shift_id, starts_at + line * interval '1 hour', starts_at + line * interval '1 hour' + interval '30 min',
        (select min(c.id) from activity_code c where c.counts_as = 'boring') from made m;
    insert into support_installed (project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
      select m.project_id, drive_id, shift_id, line + 1, i.id, i.unit, 'L1', from_m, to_m + 0.1, 3 from made m join support_item i on i.code = 'BOLT';
    ${AHEAD}
    commit`);

const WHICH_OTHERS = `d.code like 'O%'`;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  for (let other = 0; other < DRIVES; other += 1) await aDrive(app, { drive: `O${other}` });
  await app.sql(`insert into standard_support (project_id, ground_class_id, edition) select project_id, id, 'x' from ground_class;
    insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m)
      select s.project_id, s.id, i.id, i.unit, 'L1', 7.5 from standard_support s join support_item i on i.code = 'BOLT';
    insert into drive_support_limit (drive_id, zone, limit_m) select id, 'L1', 5 from drive`);
  await grow(`d.code = 'N'`, 0, OWN);
  await grow(WHICH_OTHERS, 0, OTHERS.few);
  await app.sql('vacuum analyze');
  client = await serviceSession(app.url);
});

afterAll(async () => {
  await client.end();
  await app.close();
});

/** Lists that a reading passes to its parts; without them these find nothing. */
const LISTS = [
  ...[
    'set_labels',
    'mean_east',
    'mean_north',
    'mean_down',
    'bases',
    'class_codes',
    'contested',
    'contested_class_codes',
  ],
  ...['exact_quantities', 'held_quantities', 'quantities', 'item_ids', 'items', 'keys', 'lithologies'],
];

/** Arguments of a function, by the name of the argument; those of missing records find nothing. */
const ARGUMENTS: Record<string, string> = {
  project: `'P1'`,
  from_chainage: '1240',
  to_chainage: '1260',
  interval_m: '10',
  stroke_length_m: '1.7',
  m: '50',
  face_m: '40',
  probed_to_m: '60',
  least_length_m: '10',
  sector_from_deg: `'{300}'`,
  sector_to_deg: `'{60}'`,
  inflow_l_per_min: '3',
  measured_at: `'2027-01-09Z'`,
  low_m: '40',
  high_m: '60',
  number: '2',
  hours: '24',
  first_cell: 'null',
  last_cell: 'null',
  first_number: '2',
  last_number: '4',
  from_day: 'null',
  to_day: 'null',
  from_at: `'2027-01-05Z'`,
  to_at: `'2027-01-09Z'`,
  instant: `'2027-01-09Z'`,
  production_day: `'2027-01-09'`,
  until: `'2030-01-01'`,
  without_shift_ids: `'{}'`,
  by_kept_sums: 'true',
  is_kept: 'false',
  shift_ids: `'{}'`,
  dates: `'{}'`,
  names: `'{}'`,
  cut_off: `'2030-01-01'`,
  only_source: 'null',
  only_reference: 'null',
  part: `'all'`,
  period: `'week'`,
  cut: `'ground_class'`,
  from_m: '20',
  bounds: 'array[0, 10, 20, 30.5]',
  baseline: `'none'`,
  entitlement: `'none'`,
  horizon: 'null',
  programme: `'none'`,
  valuation: '1',
  proposal: '1',
  also_uncaught: 'false',
  support_item_id: `(select id from support_item where code = 'BOLT')`,
  zone: `'L1'`,
  begins_mm: 'array[0]',
  between_mm: 'array[1500]',
  ...Object.fromEntries(LISTS.map((list) => [list, 'null'])),
};

const READINGS = `select c.relname as name, null::text[] as arguments, null::text[] as types from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attname = 'drive_id'
  where c.relnamespace = 'report'::regnamespace and c.relkind = 'v'
  union all
  select p.proname, p.proargnames[1:p.pronargs], array(select format_type(t, null) from unnest(p.proargtypes) t) from pg_proc p
  where p.pronamespace = 'report'::regnamespace and p.proargnames[1:p.pronargs] && array['drive', 'drive_id']
  order by 1`;

interface Reading {
  name: string;
  arguments: string[] | null;
  types: string[] | null;
}

const sqlOf = ({ name, arguments: names, types }: Reading, drive: number): string => {
  if (!names) return `select * from ${name} where drive_id = ${drive}`;
  const values = names.map((argument, at) => {
    if (argument === 'drive_id' || argument === 'drive')
      return types?.[at] === 'text' ? `'N'` : String(drive);
    if (!(argument in ARGUMENTS))
      throw new Error(`${name} is asked with ${argument}, which has no value here`);
    return `${ARGUMENTS[argument]}::${types?.[at]}`;
  });
  return `select * from ${name}(${values.join(', ')})`;
};

interface Blocks {
  'Shared Hit Blocks': number;
  'Shared Read Blocks': number;
}

/** Blocks touched by each reading of the drive, without planning. */
const blocks = async (asked?: Reading[]): Promise<Record<string, number>> => {
  const [project] = await app.sql<{ id: number }>('select id from project');
  const [drive] = await app.sql<{ id: number }>(`select id from drive where code = 'N'`);
  const found: Record<string, number> = {};
  const readings = await app.sql<Reading>(READINGS);
  expect(readings.length).toBeGreaterThan(100);
  for (const reading of asked ?? readings) {
    const [row] = await takenBack(client, project?.id, () =>
      rowsOf<{ 'QUERY PLAN': { Plan: Blocks }[] }>(
        client,
        `explain (analyze, timing off, buffers, format json) ${sqlOf(reading, drive?.id ?? 0)}`,
      ),
    );
    const plan = row?.['QUERY PLAN'][0]?.Plan;
    found[reading.name] = (plan?.['Shared Hit Blocks'] ?? 0) + (plan?.['Shared Read Blocks'] ?? 0);
  }
  return found;
};

it('no reading of a drive reads more blocks when the other drives of the project have grown', async () => {
  const before = await blocks();
  expect(Object.keys(before).length).toBeGreaterThan(20);
  await grow(WHICH_OTHERS, OTHERS.few, OTHERS.many);
  await app.sql('vacuum analyze');
  const after = await blocks();
  // the indexes keep their depth; the rows of the others are 2.4 times as many
  const growing = Object.entries(after).filter(([name, now]) => now > (before[name] ?? 0) * 1.2 + 30);
  expect(growing.map(([name, now]) => [name, before[name], now])).toEqual([]);
});

it('facts read no more blocks without table statistics', async () => {
  const facts = async (): Promise<[string, number][]> =>
    Object.entries(
      await blocks(
        await app.sql<Reading>(READINGS).then((all) => all.filter(({ name }) => name.startsWith('fact_'))),
      ),
    );
  const known = await facts();
  expect(known.length).toBeGreaterThan(5);
  const tables = `(select oid from pg_class where relnamespace in ('public'::regnamespace, 'history'::regnamespace))`;
  await app.sql(`begin; delete from pg_statistic where starelid in ${tables};
    update pg_class set reltuples = -1, relpages = 0 where oid in ${tables}; commit`);
  const unknown = new Map(await facts());
  expect(known.filter(([name, now]) => (unknown.get(name) ?? 0) > now * 5 + 3000)).toEqual([]); // one full read of a table is harmless
});

/** Blocks touched by what a PUT asks of the shift that it has written, by the plan that serves every shift. */
const blocksOfShift = async (drive: string): Promise<number> => {
  const [project] = await app.sql<{ id: number }>('select id from project');
  const [shift] = await app.sql<{ id: number }>(
    `select min(s.id) as id from shift s join drive d on d.id = s.drive_id where d.code = '${drive}'`,
  );
  const [row] = await takenBack(client, project?.id, async () => {
    await client.query('set local plan_cache_mode = force_generic_plan');
    await client.query(
      `deallocate all; prepare of_shift(int) as select * from open_item where shift_id = $1`,
    );
    return rowsOf<{ 'QUERY PLAN': { Plan: Blocks }[] }>(
      client,
      `explain (analyze, timing off, buffers, format json) execute of_shift(${shift?.id})`,
    );
  });
  const plan = row?.['QUERY PLAN'][0]?.Plan;
  return (plan?.['Shared Hit Blocks'] ?? 0) + (plan?.['Shared Read Blocks'] ?? 0);
};

it('the open items of a shift read its own rows, however large its drive, also of one that statistics do not know', async () => {
  await app.sql('vacuum analyze');
  const before = await blocksOfShift('N');
  await grow(`d.code = 'N'`, OWN, OTHERS.many);
  await app.sql('vacuum analyze');
  expect(await blocksOfShift('N')).toBeLessThan(before * 1.2 + 30);
  await aDrive(app, { drive: 'Z' });
  await grow(`d.code = 'Z'`, 0, OTHERS.many);
  expect(await blocksOfShift('Z')).toBeLessThan(before * 1.2 + 30);
});
