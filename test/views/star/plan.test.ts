import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';

// With the role of the service, under row-level security and without statistics: a fact or dimension finds the last change of each of its
// records by key, however long their histories are.

let app: TestApp;

const RECORDS = 20;
/** Earlier versions of each record. */
const VERSIONS = 100;

/** The rows of each view, and the tables whose history it reads. */
const VIEWS: [string, string[]][] = [
  ['fact_support_line', ['shift']],
  ['fact_activity_part', ['shift']],
  ['fact_boring', ['shift']],
  ['fact_probe_hole', ['probe_hole']],
  ['fact_inflow', ['inflow_measurement']],
  ['fact_valuation_line', ['valuation']],
  ['dim_shift', ['shift']],
  ['dim_valuation', ['valuation']],
  ['dim_pay_item', ['bill', 'pay_item']],
  ['dim_equipment', ['equipment']],
  ['dim_zone', ['working_zone']],
];

const HISTORIES = [...new Set(VIEWS.flatMap(([, tables]) => tables))];

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const n = `generate_series(1, ${RECORDS}) n`;
  // rows without triggers, which would be slow: each record has its version that stands and many before it
  await app.sql(`begin; set local session_replication_role = replica;
    insert into equipment (project_id, code, description) select p.id, 'X' || n, 'x' from project p, ${n};
    insert into working_zone (project_id, code, name) select p.id, 'X' || n, 'x' from project p, ${n};
    create temp table d on commit drop as select id, project_id from drive;
    insert into shift (project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      select d.project_id, d.id, '2027-01-01'::date + n, c.id, '2027-01-01 06:00Z'::timestamptz + n * interval '1 day',
        '2027-01-01 18:00Z'::timestamptz + n * interval '1 day', 'submitted', 'x' from d join calendar_shift c on c.name = 'day', ${n};
    insert into boring (project_id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
      select project_id, drive_id, id, row_number() over (order by id), row_number() over (order by id), row_number() over (order by id) + 1, starts_at,
        starts_at + interval '1 hour' from shift;
    insert into activity (project_id, drive_id, shift_id, started_at, ended_at, activity_code_id)
      select project_id, drive_id, id, starts_at, starts_at + interval '1 hour', (select min(id) from activity_code) from shift;
    insert into support_installed (project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
      select s.project_id, s.drive_id, s.id, 1, i.id, i.unit, 'L1', 1, 2, 1 from shift s join support_item i on i.code = 'BOLT';
    insert into probe_hole (project_id, drive_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m)
      select project_id, id, 'x' || n, 10, 5, 30, 29.886, 2.615 from d, ${n};
    insert into inflow_measurement (project_id, drive_id, name, place, from_m, to_m, method, measured_at, flow_l_per_min)
      select project_id, id, 'x' || n, 'interval', 0, 1, 'bucket', '2024-03-01 10:00Z', 4 from d, ${n};
    insert into bill (drive_id, project_id, version, valid_from, currency, minor_units) select id, project_id, 'V1', '2020-01-01', 'EUR', 2 from d;
    insert into pay_item (drive_id, project_id, bill_id, reference, position, description, unit, decimals, rate, quantity)
      select drive_id, project_id, id, 'x' || n, n, 'x', 'm3', 2, 10, 0 from bill, ${n};
    insert into valuation (drive_id, project_id, number, cut_off, state, prepared_by, prepared_at, agreed_by, agreed_at, digest, certified_by, certified_at,
        measured_change)
      select id, project_id, n, '2040-01-01'::date + n, 'certified', 'x', now(), 'x', now(), repeat('0', 64), 'y', now(), 1 from d, ${n};
    insert into certified_line (project_id, drive_id, valuation_id, pay_item_id, exact_quantity, base_per_unit, previous_quantity, quantity, to_date_quantity,
        held_quantity, previous_amount, amount, to_date_amount, source_count, digest)
      select v.project_id, v.drive_id, v.id, i.id, 5, 1, 0, 5, 5, 0, 0, 11.25, 11.25, 1, repeat('0', 64) from valuation v, pay_item i;
    delete from history.change;
    insert into history.change (project_id, number, actor, made_at)
      select p.id, n, 'x', now() + n * interval '1 s' from project p, generate_series(1, ${VERSIONS + 1}) n;
    ${HISTORIES.map(
      (table) => `delete from history.${table};
    insert into history.${table} select (jsonb_populate_record(null::history.${table},
        to_jsonb(t) || jsonb_build_object('from_change', n, 'to_change', case n when ${VERSIONS + 1} then 9223372036854775807 else n + 1 end))).*
      from ${table} t, generate_series(1, ${VERSIONS + 1}) n;`,
    ).join('\n')}
    delete from pg_statistic where starelid in (select oid from pg_class where relnamespace::regnamespace::text in ('public', 'history'));
    update pg_class set reltuples = -1, relpages = 0 where relkind in ('r', 'i') and relnamespace::regnamespace::text in ('public', 'history');
    commit`);
});

afterAll(() => app.close());

interface Node {
  Schema?: string;
  'Relation Name'?: string;
  'Actual Rows': number;
  'Actual Loops': number;
  'Rows Removed by Filter'?: number;
  'Rows Removed by Index Recheck'?: number;
  Plans?: Node[];
}

const scans = (node: Node): Node[] => [
  ...(node['Schema'] === 'history' ? [node] : []),
  ...(node.Plans ?? []).flatMap(scans),
];

const readBy = (node: Node): number =>
  node['Actual Loops'] *
  (node['Actual Rows'] +
    (node['Rows Removed by Filter'] ?? 0) +
    (node['Rows Removed by Index Recheck'] ?? 0));

it.each(VIEWS)(
  '%s reads of the history the version that stands of each record, by key',
  async (view, tables) => {
    const client = await serviceSession(app.url);
    try {
      const [project] = await app.sql<{ id: number }>('select id from project');
      const [row] = await takenBack(client, project?.id, () =>
        rowsOf<{ 'QUERY PLAN': { Plan: Node }[] }>(
          client,
          `explain (analyze, verbose, format json) select * from ${view}`,
        ),
      );
      const plan = row?.['QUERY PLAN'][0]?.Plan as Node;
      expect(plan['Actual Rows']).toBeGreaterThanOrEqual(RECORDS);
      const found = scans(plan);
      expect([...new Set(found.map((node) => node['Relation Name']))].sort()).toEqual(
        [...tables, 'change'].sort(),
      );
      for (const node of found)
        expect([node['Relation Name'], readBy(node) <= plan['Actual Rows'] * tables.length]).toEqual([
          node['Relation Name'],
          true,
        ]);
    } finally {
      await client.end();
    }
  },
);
