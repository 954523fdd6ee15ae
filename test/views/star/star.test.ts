import pg from 'pg';
import { ENTITY_SETS } from '../../../src/features/outputs/odata/entity-sets.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { rowsOf } from '../../harness/service-role.js';

// What BI tools need from facts and dimensions: plain types, keys that resolve, unique grains, and sums equal to those of the tables.

/** The dimension of a key whose name does not tell it. */
const DIMENSION: Record<string, string> = {
  production_day: 'dim_date.date',
  shift_date: 'dim_date.date',
  cut_off: 'dim_date.date',
  noted_class_id: 'dim_ground_class.ground_class_id',
  governing_class_id: 'dim_ground_class.ground_class_id',
  posted_for_party_id: 'dim_party.party_id',
  countersigned_for_party_id: 'dim_party.party_id',
};

const names = Object.keys(ENTITY_SETS);

let database: TestDatabase;
let owner: pg.Client;
let columns: { view: string; name: string; type: string; kind: string }[];

const one = async (sql: string): Promise<Record<string, unknown> | undefined> =>
  (await rowsOf<Record<string, unknown>>(owner, sql))[0];

beforeAll(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  await owner.query(`${wholeRecord(1, 'ALPHA')} ${wholeRecord(2, 'BETA')}`);
  columns = await rowsOf(
    owner,
    `select c.relname as view, a.attname as name, format_type(a.atttypid, a.atttypmod) as type, y.typtype::text as kind
      from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 join pg_type y on y.oid = a.atttypid
      where c.relnamespace = 'report'::regnamespace and c.relname ~ '^(fact|dim)_' order by 1, a.attnum`,
  );
});

afterAll(async () => {
  await owner.end();
  await database.drop();
});

it('has the facts and dimensions that are listed here', () => {
  expect([...new Set(columns.map(({ view }) => view))]).toEqual(names);
});

it('has no array, range, enum or JSON, and no number of two precisions', () => {
  const plain =
    /^(integer|bigint|smallint|numeric|double precision|text|boolean|date|timestamp(\(3\))? with(out)? time zone)(\(\d+,\d+\))?$/;
  expect(columns.filter(({ type, kind }) => kind !== 'b' || !plain.test(type))).toEqual([]);
});

it.each(names)('%s has rows, each identified by its key', async (name) => {
  const key = (ENTITY_SETS[name] ?? []).join(', ');
  const found = await one(
    `select count(*)::int as n, count(distinct (${key}))::int as named from report.${name}`,
  );
  expect(found?.n).toBeGreaterThan(0);
  expect(found?.named).toBe(found?.n);
});

it('every key of a fact or dimension is found in its dimension', async () => {
  const keys = columns.flatMap(({ view, name }) => {
    const [dimension, key] = (DIMENSION[name] ?? `dim_${name.replace(/_id$/, '')}.${name}`).split('.');
    const isKey = name in DIMENSION || (name.endsWith('_id') && names.includes(dimension ?? ''));
    return isKey && view !== dimension ? [{ view, name, dimension, key }] : [];
  });
  expect(keys.length).toBeGreaterThan(40);
  for (const { view, name, dimension, key } of keys)
    expect([
      `${view}.${name}`,
      await rowsOf(
        owner,
        `select f.${name} from report.${view} f where f.${name} is not null and not exists (select from report.${dimension} d where d.${key} = f.${name})`,
      ),
    ]).toEqual([`${view}.${name}`, []]);
});

// summed directly from the tables, without any view
it.each([
  [
    'metres bored',
    'select drive_id, sum(advance_m) as n from report.fact_boring group by 1 order by 1',
    'select drive_id, sum(to_m - from_m) as n from boring group by 1 order by 1',
  ],
  [
    'boring time',
    'select drive_id, sum(boring_seconds)::numeric(20, 3) as n from report.fact_boring group by 1 order by 1',
    'select drive_id, sum(extract(epoch from ended_at - started_at))::numeric(20, 3) as n from boring group by 1 order by 1',
  ],
  [
    'time by code',
    'select activity_code_id, sum(seconds)::numeric(20, 3) as n from report.fact_activity_part group by 1 order by 1',
    'select activity_code_id, sum(extract(epoch from ended_at - started_at))::numeric(20, 3) as n from activity group by 1 order by 1',
  ],
  [
    'support by item',
    'select support_item_id, sum(quantity) as n from report.fact_support_line group by 1 order by 1',
    'select support_item_id, sum(quantity) as n from support_installed group by 1 order by 1',
  ],
  [
    'length of ground',
    'select drive_id, sum(length_m) as n from report.fact_ground_interval group by 1 order by 1',
    'select drive_id, max(to_m) as n from boring group by 1 order by 1',
  ],
  [
    'amounts certified',
    `select f.valuation_id, f.pay_item_id, f.amount as n from report.fact_valuation_line f join report.dim_valuation v using (valuation_id) where v.state = 'certified' order by 1, 2`,
    `select l.valuation_id, l.pay_item_id, l.amount as n from certified_line l join valuation v on v.id = l.valuation_id where v.state = 'certified' order by 1, 2`,
  ],
  [
    'metres of probe holes',
    'select drive_id, sum(length_m) as n from report.fact_probe_hole group by 1 order by 1',
    'select drive_id, sum(length_m) as n from probe_hole group by 1 order by 1',
  ],
])('%s: the facts add up to the tables', async (_, facts, tables) => {
  const found = await rowsOf(owner, facts);
  expect(found.length).toBeGreaterThan(0);
  expect(found).toEqual(await rowsOf(owner, tables));
});

it('ground ends at the face, whether within a stretch or where one begins', async () => {
  // drive 1 starts at chainage 1000 and is bored to 30 m; notes to 10 m, a decision from 5 to 15 m, another from the face on
  await owner.query('begin');
  await owner.query(
    'insert into class_decision (id, project_id, drive_id, number, from_m, to_m, ground_class_id) values (9000, 1, 1, 90, 30, 40, 100)',
  );
  const stretches = await rowsOf(
    owner,
    `select from_chainage_m::float8 as from, to_chainage_m::float8 as to, from_m::float8, to_m::float8, length_m::float8
      from report.fact_ground_interval where drive_id = 1 order by number`,
  );
  await owner.query('rollback');
  expect(stretches.map((row) => Object.values(row))).toEqual([
    [1000, 1005, 0, 5, 5],
    [1005, 1010, 5, 10, 5],
    [1010, 1015, 10, 15, 5],
    [1015, 1030, 15, 30, 15],
  ]);
  const [within] = await rowsOf(
    owner,
    `select to_chainage_m::float8 as to, to_m::float8, length_m::float8 from report.fact_ground_interval where drive_id = 1 order by number desc limit 1`,
  );
  expect(within).toEqual({ to: 1030, to_m: 30, length_m: 15 });
});

it('the weeks are those of ISO 8601', async () => {
  // counted from the Thursday of each week, as in ISO 8601
  const rows = await rowsOf(
    owner,
    `select date::text, iso_week, iso_weekday, week_start::text, month_start::text, quarter from report.dim_date
      where iso_weekday in (1, 7) order by date limit 4`,
  );
  for (const { date, iso_week: week, iso_weekday: weekday, week_start: monday } of rows as Record<
    string,
    string
  >[]) {
    const day = new Date(`${date}T00:00:00Z`);
    const thursday = new Date(day.getTime() + (4 - (day.getUTCDay() || 7)) * 86_400_000);
    const first = Date.UTC(thursday.getUTCFullYear(), 0, 1);
    const number = Math.floor((thursday.getTime() - first) / 604_800_000) + 1;
    expect(week).toBe(`${thursday.getUTCFullYear()}-W${String(number).padStart(2, '0')}`);
    expect(Number(weekday)).toBe(day.getUTCDay() || 7);
    expect(monday).toBe(new Date(thursday.getTime() - 3 * 86_400_000).toISOString().slice(0, 10));
  }
  expect(rows.length).toBeGreaterThan(1);
});

it('a write changes the change number of its shift, and of no other', async () => {
  const read = () =>
    rowsOf<{ id: number; n: string }>(
      owner,
      'select shift_id as id, change_number::text as n from report.dim_shift order by 1',
    );
  const before = await read();
  const [{ id } = { id: 0 }] = before;
  await owner.query(`set drivebook.actor = 'tester'`);
  await owner.query(`update shift set remark = coalesce(remark, '') || ' again' where id = ${id}`);
  const after = await read();
  expect(after.filter(({ n }, i) => n !== before[i]?.n).map((row) => row.id)).toEqual([id]);
  expect(Number(after[0]?.n)).toBeGreaterThan(Number(before[0]?.n));
  await owner.query(`set drivebook.as_of_change = '${after[0]?.n}'`);
  expect(await read()).toEqual(after); // as of that very change
  await owner.query('reset drivebook.as_of_change');
  const facts = await rowsOf(
    owner,
    `select distinct change_number::text as n from report.fact_activity_part where shift_id = ${id}`,
  );
  expect(facts).toEqual([{ n: after[0]?.n }]);
});

/** Records of whole-record.ts that have a history of their own: each with a write to the first of them, and those whose rows change with it. */
const WRITES: [string, string, string, string[]][] = [
  ['dim_project', 'project_id', `update project set name = 'again' where id = 1`, ['1']],
  ['dim_party', 'party_id', `update party set name = 'again' where id = 100`, ['100']],
  [
    'dim_activity_code',
    'activity_code_id',
    `update activity_code set description = 'x' where id = 100`,
    ['100'],
  ],
  ['dim_equipment', 'equipment_id', `update equipment set description = 'x' where id = 100`, ['100']],
  [
    'dim_ground_class',
    'ground_class_id',
    `update ground_class set description = 'x' where id = 100`,
    ['100'],
  ],
  [
    'dim_support_item',
    'support_item_id',
    `update support_item set description = 'x' where id = 100`,
    ['100'],
  ],
  ['dim_zone', 'zone_id', `update working_zone set name = 'again' where id = 150`, ['150']],
  ['dim_drive', 'drive_id', `update drive set name = 'again' where id = 1`, ['1']],
  ['dim_pay_item', 'pay_item_id', `update pay_item set description = 'again' where id = 101`, ['101']],
  [
    'dim_pay_item',
    'pay_item_id',
    `update bill set valid_from = valid_from + 1 where id = 101`,
    ['101', '102'],
  ],
  ['dim_valuation', 'valuation_id', `update valuation set remark = 'again' where id = 100`, ['100']],
  ['fact_probe_hole', 'probe_hole_id', `update probe_hole set length_m = 31 where id = 100`, ['100']],
  ['fact_inflow', 'inflow_id', `update inflow_measurement set flow_l_per_min = 5 where id = 100`, ['100']],
];

it.each(WRITES)(
  '%s by %s: after "%s" the change number has risen in its rows only',
  async (view, key, write, changed) => {
    const read = (schema = 'report') =>
      rowsOf<{ id: string; n: string; at: Date }>(
        owner,
        `select ${key}::text as id, change_number::text as n, changed_at as at from ${schema}.${view} order by 1`,
      );
    await owner.query(`insert into bill (id, project_id, drive_id, version, valid_from, currency, minor_units)
      values (101, 1, 1, 'open', '2028-01-01', 'EUR', 2) on conflict do nothing;
    insert into pay_item (id, project_id, drive_id, bill_id, reference, position, description, unit, decimals, quantity, rate)
      values (101, 1, 1, 101, 'X.1', 1, 'x', 'm3', 1, 10, 2), (102, 1, 1, 101, 'X.2', 2, 'x', 'm3', 1, 10, 2) on conflict do nothing`);
    const before = await read();
    await owner.query(write);
    const [last] = await rowsOf<{ n: string; at: Date }>(
      owner,
      'select max(number)::text as n, max(made_at) as at from history.change where project_id = 1',
    );
    expect(await read()).toEqual(before.map((row) => (changed.includes(row.id) ? { ...row, ...last } : row)));
    expect(before.filter(({ n, at }) => n === null || at === null)).toEqual([]);
    await owner.query(`set drivebook.as_of_change = '${Number(last?.n) - 1}'`);
    expect(await read('report_as_of')).toEqual(before);
    await owner.query('reset drivebook.as_of_change');
  },
);

it('a line of a valuation has the change number of its valuation, once that is certified', async () => {
  const rows = await rowsOf(
    owner,
    `select distinct f.valuation_id as id, v.state, f.change_number is not distinct from v.change_number as same,
        f.change_number is null and f.changed_at is null as none
      from report.fact_valuation_line f join report.dim_valuation v using (valuation_id) order by 1`,
  );
  expect(rows).toEqual([
    { id: 100, state: 'draft', same: false, none: true },
    { id: 101, state: 'certified', same: true, none: false },
    { id: 200, state: 'draft', same: false, none: true },
    { id: 201, state: 'certified', same: true, none: false },
  ]);
});

// What docs/guide/sql.md asks, where a column follows records other than its own.
const BORINGS_WITHOUT_SHIFT =
  'select * from report.fact_boring where change_number is null order by boring_id';
const MACHINES = `select table_name, record_id, change_number from report.record_changed
  where table_name in ('machine', 'machine_revision') order by 1, 2`;
const PARTIES = 'select party_id, change_number from report.dim_party order by 1';

/** A table, a write that changes it without a number in it, and what then tells its reader to read again. */
const FOLLOWED: [string, string, string, string][] = [
  [
    'fact_boring',
    'a revision of its machine changed',
    `update machine_revision set disc_count = 40 where id = 100; update boring set thrust_per_disc_kn = 300 where id = 100`,
    MACHINES,
  ],
  [
    'fact_boring',
    'its machine changed',
    `update machine set disc_count = 40 where id = 100; update boring set thrust_per_disc_kn = 310 where id = 100`,
    MACHINES,
  ],
  [
    'fact_boring',
    'a revision of its machine removed',
    `delete from machine_revision where id = 100; update boring set thrust_per_disc_kn = 240 where id = 100`,
    MACHINES,
  ],
  [
    'fact_activity_part',
    'strokes imported without a shift',
    `insert into boring (id, project_id, drive_id, stroke_number, from_m, to_m, started_at, ended_at)
      values (9000, 1, 1, 1, 10, 12, '2027-03-01 08:00Z', '2027-03-01 09:00Z')`,
    BORINGS_WITHOUT_SHIFT,
  ],
  ['dim_shift', 'a party removed', `delete from party where code = 'Q'`, PARTIES],
  [
    'dim_shift',
    'a party put again',
    `insert into party (id, project_id, code, name, kind, side) values (9001, 1, 'Q', 'Again', 'contractor', 'contractor')`,
    PARTIES,
  ],
];

describe('where a column follows another record, what the guide asks before reading again differs', () => {
  beforeAll(async () => {
    await owner.query(`insert into party (id, project_id, code, name, kind, side) values (9000, 1, 'Q', 'Party', 'contractor', 'contractor');
      set session_replication_role = replica; update shift set posted_for = '{"code": "Q"}' where id = 100; reset session_replication_role`);
  });

  it.each(FOLLOWED)('%s after %s', async (table, _, write, asked) => {
    const read = async () => ({
      rows: await rowsOf(owner, `select * from report.${table} order by 1, 2`),
      shifts: await rowsOf(owner, 'select shift_id, change_number from report.dim_shift order by 1'),
      asked: await rowsOf(owner, asked),
    });
    const before = await read();
    await owner.query(write); // with the figures of borings, as the service writes them
    const after = await read();
    expect(after.rows).not.toEqual(before.rows);
    expect(after.shifts).toEqual(before.shifts);
    expect(after.asked).not.toEqual(before.asked);
  });
});
