import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';

// With the role of the service, under row-level security: what a reading of one drive reads grows neither with the project's other drives nor with
// missing statistics of the tables. Blocks are counted, not seconds.

let app: TestApp;

/** Shifts of the drive that is read, and the factor for the other drive, before and after it grows. */
const [SHIFTS, OTHERS, GROWN] = [40, 10, 30];

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'O' });
  // rows without triggers, which would be slow
  await app.sql(`begin; set local session_replication_role = replica;
    create table made (drive_id int, project_id int, n int);
    insert into made select id, project_id, n from drive, generate_series(1, ${SHIFTS} * case code when 'N' then 1 else ${OTHERS} end) n;
    insert into bill (drive_id, project_id, version, valid_from, currency, minor_units) select id, project_id, 'V1', '2020-01-01', 'EUR', 2 from drive;
    insert into pay_item (drive_id, project_id, bill_id, reference, position, description, unit, decimals, rate, quantity)
      select b.drive_id, b.project_id, b.id, i.*, 0 from bill b, (values ('S.A', 1, 'x', 'm3', 1, 10), ('S.B', 2, 'x', 'm3', 1, 10), ('T', 3, 'x', 'm', 2, 10)) i;
    insert into measurement_rule (drive_id, project_id, pay_item_id, source, dimension, items, classes, max_per_m)
      select i.drive_id, i.project_id, i.id, case when i.reference = 'T' then 'advance' else 'support' end::measure_source,
        case when i.reference = 'T' then 'length' else 'volume' end::measure_dimension, case when i.reference <> 'T' then '{SPRAY}'::text[] end,
        case i.reference when 'S.A' then '{A}'::text[] when 'S.B' then '{B}' end, case when i.reference = 'S.B' then 1 end
      from pay_item i;
    insert into valuation (drive_id, project_id, number, cut_off, state, prepared_by, prepared_at) select id, project_id, 1, '2040-01-01', 'draft', 'x', now() from drive;
    ${rowsIn('made')}
    commit`);
});

afterAll(() => app.close());

/** Shifts by the table's numbers, each with a boring, two notes and ten lines, each beginning where the last one ends. */
const rowsIn = (table: string): string => `
  insert into shift (project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest, countersigned_by, countersigned_at)
    select m.project_id, m.drive_id, '2027-01-01'::date + m.n, c.id, '2027-01-01 06:00Z'::timestamptz + m.n * interval '1 day',
      '2027-01-01 18:00Z'::timestamptz + m.n * interval '1 day', 'countersigned', 'x', 'x', now()
    from ${table} m join calendar_shift c on c.name = 'day' and c.project_id = m.project_id;
  create temp table of_shift on commit drop as
    select s.id, s.drive_id, s.project_id, s.starts_at, (m.n - 1) * 0.2 as from_m, m.n * 0.2 as to_m from ${table} m
    join shift s on s.drive_id = m.drive_id and s.shift_date = '2027-01-01'::date + m.n;
  insert into boring (project_id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
    select project_id, drive_id, id, row_number() over (partition by drive_id order by from_m) + 1000 * from_m, from_m, to_m, starts_at, starts_at + interval '1 hour' from of_shift;
  insert into ground_interval (project_id, drive_id, shift_id, from_m, to_m, ground_class_id)
    select s.project_id, s.drive_id, s.id, from_m + case c.code when 'A' then 0 else 0.1 end, to_m - case c.code when 'A' then 0.1 else 0 end, c.id
    from of_shift s join ground_class c on c.code in ('A', 'B') and c.project_id = s.project_id;
  insert into support_installed (project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
    select s.project_id, s.drive_id, s.id, n, i.id, i.unit, 'L1', s.from_m, s.to_m, 1
    from of_shift s join support_item i on i.code = 'SPRAY' and i.project_id = s.project_id, generate_series(1, 10) n;`;

const READINGS: [string, string][] = [
  ['a draft', 'select lines::text from valuation_document where drive_id = $N and valuation_number = 1'],
  ['the sources of a line', `select count(*), sum(quantity) from valuation_source_of($N, 1, 'S.A')`],
  ['a split by class', `select count(*), sum(quantity) from valuation_by_class('P1', 'N', 1)`],
  ['a split by chainage', `select count(*), sum(quantity) from valuation_by_interval('P1', 'N', 1, 1)`],
  [
    'a measurement check',
    `select count(*), sum(record_count), sum(quantity) from measure_check_of('P1', 'N', '2040-01-01')`,
  ],
];

interface Explained {
  'QUERY PLAN': { Plan: { 'Shared Hit Blocks': number; 'Shared Read Blocks': number } }[];
}

/** Blocks read by each of the readings, and its answer. */
const read = async (): Promise<{ blocks: number[]; answers: unknown[] }> => {
  const client = await serviceSession(app.url);
  try {
    const [project] = await app.sql<{ id: number }>('select id from project');
    const [drive] = await app.sql<{ id: number }>(`select id from drive where code = 'N'`);
    const [blocks, answers]: [number[], unknown[]] = [[], []];
    for (const [, text] of READINGS) {
      const sql = text.replace('$N', String(drive?.id));
      answers.push(await takenBack(client, project?.id, () => rowsOf<object>(client, sql))); // by now the catalogues have been read
      const [row] = await takenBack(client, project?.id, () =>
        rowsOf<Explained>(client, `explain (analyze, buffers, format json) ${sql}`),
      );
      const plan = row?.['QUERY PLAN'][0]?.Plan;
      blocks.push((plan?.['Shared Hit Blocks'] ?? NaN) + (plan?.['Shared Read Blocks'] ?? NaN));
    }
    return { blocks, answers };
  } finally {
    await client.end();
  }
};

it('reads no more when another drive of the project grows, nor without table statistics', async () => {
  await app.sql('vacuum analyze');
  const before = await read();
  await app.sql(`begin; set local session_replication_role = replica;
    create table more as select drive_id, project_id, n from (select d.id as drive_id, d.project_id from drive d where d.code = 'O') o,
      generate_series(${SHIFTS * OTHERS + 1}, ${SHIFTS * GROWN}) n;
    ${rowsIn('more')}
    commit`);
  const stale = await read();
  await app.sql('vacuum analyze');
  const fresh = await read();
  await app.sql(`delete from pg_statistic where starelid in (select oid from pg_class where relnamespace = 'public'::regnamespace);
    update pg_class set reltuples = -1, relpages = 0 where relkind in ('r', 'i') and relnamespace = 'public'::regnamespace`);
  const empty = await read();
  for (const [name, { blocks, answers }] of Object.entries({ stale, fresh, empty })) {
    expect([name, answers]).toEqual([name, before.answers]);
    // without statistics, PostgreSQL reads some blocks of each table and its indexes, however large they are
    const most = before.blocks.map((blocks) => blocks + (name === 'empty' ? 250 : 8));
    expect([
      name,
      READINGS.filter((_, index) => !((blocks[index] ?? NaN) <= (most[index] ?? NaN))),
      blocks,
      most,
    ]).toEqual([name, [], blocks, most]);
  }
  expect(before.blocks.every((blocks) => blocks > 100)).toBe(true);
});
