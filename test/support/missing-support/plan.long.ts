import { aDrive, aProject } from '../../builders/project.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { startApp, type TestApp } from '../../harness/app.js';

// With the role of the service, under row-level security, a reading of one drive reads only the rows of that drive.

let app: TestApp;

const OWN = 300;
/** Of each of ten other drives. */
const OTHERS = 2000;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  for (let other = 0; other < 10; other += 1) await aDrive(app, { drive: `O${other}` });
  await app.sql(`insert into standard_support (project_id, ground_class_id, edition) select project_id, id, 'x' from ground_class;
    insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m)
      select s.project_id, s.id, i.id, i.unit, 'L1', 1 from standard_support s join support_item i on i.code = 'SPRAY';
    insert into drive_support_limit (drive_id, zone, limit_m) select id, 'L1', 5 from drive`);
  // a shift of the record for each drive; rows without triggers, which would be slow
  await app.sql(`begin; set local session_replication_role = replica;
    insert into shift (id, project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      select d.id, d.project_id, d.id, '2027-03-01', c.id, '2027-03-01 06:00Z', '2027-03-01 18:00Z', 'draft', 'x' from drive d, calendar_shift c where c.name = 'day';
    create temp table many as select d.id, d.project_id, n, case d.code when 'N' then ${OWN} else ${OTHERS} end as rows
      from drive d, generate_series(1, ${OTHERS}) n where n <= case d.code when 'N' then ${OWN} else ${OTHERS} end;
    insert into boring (project_id, drive_id, stroke_number, from_m, to_m)
      select project_id, id, n, round((n - 1) * 900.0 / rows, 3), round(n * 900.0 / rows, 3) from many;
    insert into ground_interval (project_id, drive_id, shift_id, from_m, to_m, ground_class_id)
      select m.project_id, m.id, m.id, round((n - 1) * 900.0 / rows, 3), round(n * 900.0 / rows, 3), c.id from many m join ground_class c on c.code = 'A';
    insert into support_installed (project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
      select m.project_id, m.id, m.id, n, i.id, i.unit, 'L1', round((n - 1) * 900.0 / rows, 3), round(n * 900.0 / rows, 3), 1
      from many m join support_item i on i.code = 'SPRAY';
    commit`);
  await app.sql('vacuum analyze');
});

afterAll(() => app.close());

interface Node {
  'Relation Name'?: string;
  'Actual Rows': number;
  'Actual Loops': number;
  'Rows Removed by Filter'?: number;
  'Rows Removed by Index Recheck'?: number;
  'Node Type': string;
  Plans?: Node[];
}

const scans = (node: Node): Node[] => [
  ...(node['Relation Name'] ? [node] : []),
  ...(node.Plans ?? []).flatMap(scans),
];

const MANY = ['boring', 'ground_interval', 'support_installed'];

it.each([
  ['missing_support', `select * from missing_support('P1', 'N', 10)`],
  ['missing_support_between', `select * from missing_support_between('P1', 'N', 1300, 1350, null)`],
  ['unsupported_length', `select * from unsupported_length('P1', 'N')`],
  ['before_next_stroke', `select * from before_next_stroke('P1', 'N', 1.7)`],
  ['required_support', `select * from required_support($N)`],
  ['support_by_ground_class', `select * from support_by_ground_class where drive_id = $N`],
  ['support_measure_by_ground_class', `select * from support_measure_by_ground_class where drive_code = 'N'`],
  ['support_by_interval of the view', `select * from missing_support_by_interval where drive_code = 'N'`],
])('%s reads only the rows of the drive', async (_, sql) => {
  const client = await serviceSession(app.url);
  try {
    const [project] = await app.sql<{ id: number }>('select id from project');
    const [drive] = await app.sql<{ id: number }>(`select id from drive where code = 'N'`);
    const [row] = await takenBack(client, project?.id, () =>
      rowsOf<{ 'QUERY PLAN': { Plan: Node }[] }>(
        client,
        `explain (analyze, format json) ${sql.replace('$N', String(drive?.id))}`,
      ),
    );
    const found = scans(row?.['QUERY PLAN'][0]?.Plan as Node).filter((node) =>
      MANY.includes(node['Relation Name'] ?? ''),
    );
    expect(found.length).toBeGreaterThan(1);
    for (const node of found) {
      // once or twice, not once per line
      expect([node['Relation Name'], node['Actual Loops'] < 5]).toEqual([node['Relation Name'], true]);
      const read =
        node['Actual Loops'] *
        (node['Actual Rows'] +
          (node['Rows Removed by Filter'] ?? 0) +
          (node['Rows Removed by Index Recheck'] ?? 0));
      expect([node['Relation Name'], node['Node Type'], read <= OWN]).toEqual([
        node['Relation Name'],
        node['Node Type'],
        true,
      ]);
    }
  } finally {
    await client.end();
  }
});
