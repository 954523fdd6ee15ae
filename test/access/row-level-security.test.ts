import pg from 'pg';
import { wholeRecord } from '../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalOf, rowsOf, serviceSession, takenBack } from '../harness/service-role.js';
import { sized } from '../harness/sizes.js';

// What the service's role can see and do by SQL, whatever statement the service sends. The list of tables and views comes from the catalogue, so
// that later ones are tested too.

const [A, B] = [1, 2];

type Relation = {
  schema: string;
  name: string;
  kind: 'table' | 'view';
};

type Row = Record<string, unknown>;

/** A probe hole and a grouted hole of the first shift: those of the whole record have no time there. */
const drilledInShift = (project: number): string =>
  `insert into probe_hole (id, project_id, drive_id, name, collar_m, drilled_at, look_out_deg, length_m, axial_reach_m, radial_spread_m)
    select ${900 + project}, project_id, drive_id, 'DRILLED', 9, starts_at, 5, 30, 29.886, 2.615 from shift where project_id = ${project} order by starts_at limit 1;
  update grout_hole set ended_at = (select starts_at + interval '1 hour' from shift where project_id = ${project} order by starts_at limit 1) where project_id = ${project};`;

let database: TestDatabase;
let owner: pg.Client;
let service: pg.Client;
let relations: Relation[];

beforeAll(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await owner.connect();
  await owner.query(
    `${wholeRecord(A, 'ALPHA')} ${drilledInShift(A)} ${wholeRecord(B, 'BETA')} ${drilledInShift(B)}`,
  );
  for (const project of [A, B])
    await owner.query(`select set_config('drivebook.project', '${project}', false), report_kept.keep_judgement(id), report_kept.keep_draft_sums(id, 0) from drive where project_id = ${project};
      insert into kept.gap (drive_id, project_id) select id, project_id from drive where project_id = ${project};
      insert into kept.alert_check (drive_id, project_id, change) select id, project_id, 1 from drive where project_id = ${project};
      insert into kept.draft_sum (drive_id, project_id, shift_date, shift_name, pay_item_id, bounded_quantity, quantity, held_quantity, source_count, incomplete_count,
        is_agreed, is_noted) select id, project_id, '2027-01-01', 'x', 1, 0, 0, 0, 0, 0, false, false from drive where project_id = ${project}`);
  await owner.query(`reset drivebook.project`);
  service = await serviceSession(database.url);
  relations = await rowsOf<Relation>(
    owner,
    `select n.nspname as schema, relname as name, case relkind when 'v' then 'view' else 'table' end as kind
      from pg_class c join pg_namespace n on n.oid = relnamespace
      where n.nspname !~ '^(pg_|information_schema|_drivebook)' and relkind in ('r', 'p', 'v', 'm', 'f') and not relispartition and relname <> '_prisma_migrations'
      order by 1, 2`,
  );
});

afterAll(async () => {
  await service.end();
  await owner.end();
  await database.drop();
});

const named = ({ schema, name }: Relation): string => `${schema}.${name}`;

const isKept = ({ schema, name }: Relation): boolean => `${schema}.${name}` !== 'public.administrator';

/** Every table, and for `npm test` every sixth view: `npm run test:long` has all. */
const isSelected = (relation: Relation, place: number): boolean =>
  isKept(relation) && (relation.kind === 'table' || place % sized(6, 1) === 0);

/** These have no id, or the service does not write them: test/samples, test/valuations, test/api, test/watch/alerts and test/access/bi-logins test them. */
const isRecord = (relation: Relation): boolean =>
  relation.schema === 'public' &&
  isKept(relation) &&
  !/^(api_key_use|machine_sample|certified_source|idempotency_key|alert|bi_grant)$/.test(relation.name);

/** The project of a row, by the way the rows were made. */
const projectOf = ({ schema, name }: Relation, row: Row): unknown => {
  if (name === 'api_key_use') return { 'key of ALPHA': A, 'key of BETA': B }[String(row['prefix'])];
  return row['project_id'] ?? row['drive_id'] ?? (schema !== 'history' && name === 'project' && row['id']);
};

/** As of the first change of each project: without a scope it is unknown when the change was made. */
const STANDS = `select set_config('drivebook.as_of_change', '1', true), set_config('drivebook.as_of_instant', '1 2027-03-15T12:00:00Z', true)`;

/** The rows that the session sees in every table and view, within the scope or without. */
const seen = (client: pg.Client, project?: number): Promise<Map<Relation, Row[]>> =>
  takenBack(client, project, async () => {
    await client.query(STANDS);
    const found = new Map<Relation, Row[]>();
    for (const relation of relations.filter(isSelected))
      found.set(relation, await rowsOf(client, `select * from ${named(relation)}`));
    return found;
  });

describe('the role of the service', () => {
  it('has nothing: no login, no privilege, no membership, no ownership', async () => {
    const [role] = await rowsOf(
      owner,
      `select rolsuper, rolbypassrls, rolcreaterole, rolcreatedb, rolreplication, rolcanlogin,
        (select count(*)::int from pg_auth_members where member = r.oid) as memberships,
        (select count(*)::int from pg_shdepend where refclassid = 'pg_authid'::regclass and refobjid = r.oid and deptype = 'o') as owned
        from pg_roles r where rolname = 'drivebook_app'`,
    );
    expect(role).toEqual({
      rolsuper: false,
      rolbypassrls: false,
      rolcreaterole: false,
      rolcreatedb: false,
      rolreplication: false,
      rolcanlogin: false,
      memberships: 0,
      owned: 0,
    });
    expect(await rowsOf(service, 'select current_user as role')).toEqual([{ role: 'drivebook_app' }]);
  });

  it.each(['public', 'report', 'report_as_of', 'report_kept', 'report_since', 'history', 'as_of', 'kept'])(
    'creates nothing in schema %s',
    async (schema) => {
      for (const sql of [
        `create table ${schema}.x (id int)`,
        `create view ${schema}.x as select 1 as id`,
        `create function ${schema}.x() returns int language sql as 'select 1'`,
      ])
        expect(await refusalOf(service, A, sql)).toMatchObject({ state: '42501' });
    },
  );

  it.each([
    ['a schema', 'create schema x'],
    ['row-level security', 'alter table public.boring disable row level security'],
    ['a policy', 'create policy x on public.boring using (true)'],
    ['a trigger', 'alter table public.boring disable trigger user'],
    ['the triggers of the session', 'set local session_replication_role = replica'],
  ])('does not touch %s', async (_, sql) => {
    expect(await refusalOf(service, A, sql)).toMatchObject({ state: '42501' });
  });

  it.each([
    'select from administrator',
    `insert into administrator (subject) values ('me')`,
    'delete from administrator',
    `insert into bi_grant (login) values ('me')`,
    'delete from bi_grant',
    `insert into api_key_use (prefix, last_used_at) values ('x', now())`,
    'select from _prisma_migrations',
    'select from _drivebook.views_put_in',
    'delete from _drivebook.shift_mark',
    'insert into _drivebook.shift_mark values (1)',
    `select history.open_change(1, 'boring')`,
    `select history.keep('boring')`,
  ])('has no right to: %s', async (sql) => {
    expect(await refusalOf(service, A, sql)).toMatchObject({ state: '42501' });
  });
});

describe('every table and view', () => {
  it('has row-level security that binds its owner too, and a policy for the service', async () => {
    const tables = await rowsOf(
      owner,
      `select relnamespace::regnamespace || '.' || relname as name, relrowsecurity and relforcerowsecurity as held,
        (select count(*)::int from pg_policy p where polrelid = c.oid and polpermissive and polcmd = '*' and polroles = '{0}'
          and pg_get_expr(polqual, polrelid) ~ '(scope_project|api_key_use.prefix)' and polwithcheck is null) as scoped,
        (select count(*)::int from pg_policy p where polrelid = c.oid and polroles <> '{0}' and polroles <> array[relowner]
          and not (polroles = array['drivebook_reader'::regrole::oid] and polcmd = 'r')
          and not (polroles = array['drivebook_bi'::regrole::oid] and polcmd = 'r')) as others,
        (select count(*) filter (where polpermissive) = count(*) filter (where not polpermissive and pg_get_expr(polqual, polrelid) ~ '= ANY .*bi_projects\\(\\)')
          from pg_policy p where polrelid = c.oid and polroles = array['drivebook_bi'::regrole::oid]) as narrowed
        from pg_class c where relnamespace in ('public'::regnamespace, 'history'::regnamespace, 'kept'::regnamespace) and relkind in ('r', 'p')
          and relname <> '_prisma_migrations' order by 1`,
    );
    expect(tables.length).toBeGreaterThan(30);
    expect(tables).toEqual(
      tables.map(({ name }) => ({
        name,
        held: true,
        scoped: name === 'public.administrator' ? 0 : 1,
        others: 0,
        narrowed: true,
      })),
    );
  });

  it('is in public, history or kept, or is a view with the rights of its reader', async () => {
    const views = await rowsOf(
      owner,
      `select relnamespace::regnamespace || '.' || relname as name, coalesce(reloptions @> '{security_invoker=true}', false) as invoker
        from pg_class where relnamespace::regnamespace::text in ('report', 'report_as_of', 'report_kept', 'report_since', 'as_of') and relkind = 'v' order by 1`,
    );
    expect(views.map(({ name }) => name)).toEqual(relations.filter(({ kind }) => kind === 'view').map(named));
    expect(views.length).toBeGreaterThan(40);
    expect(views.filter(({ invoker }) => !invoker)).toEqual([]);
    expect([
      ...new Set(relations.filter(({ kind }) => kind === 'table').map(({ schema }) => schema)),
    ]).toEqual(['history', 'kept', 'public']);
  });

  it('of the past reads no current table', async () => {
    const present = `(select oid from pg_class where relnamespace = 'public'::regnamespace)`;
    const read = await rowsOf(
      owner,
      `select v.relname || ' reads ' || d.refobjid::regclass as reading from pg_rewrite r join pg_class v on v.oid = r.ev_class
        join pg_depend d on d.classid = 'pg_rewrite'::regclass and d.objid = r.oid
        where v.relnamespace = 'report_as_of'::regnamespace and d.refclassid = 'pg_class'::regclass and d.refobjid in ${present}
      union select p.proname || '() reads ' || d.refobjid::regclass from pg_proc p
        join pg_depend d on d.classid = 'pg_proc'::regclass and d.objid = p.oid
        where p.pronamespace = 'report_as_of'::regnamespace and d.refclassid = 'pg_class'::regclass and d.refobjid in ${present}`,
    );
    expect(read).toEqual([]);
    // each has dependencies that the catalogue records: none is text parsed at run time
    const texts = await rowsOf(
      owner,
      `select proname from pg_proc where pronamespace = 'report_as_of'::regnamespace and provolatile <> 'i' and prosqlbody is null`,
    );
    expect(texts).toEqual([]);
  });

  it('refers within its project: foreign keys between rows of projects include it', async () => {
    const keys = await rowsOf(
      owner,
      `select conname from pg_constraint k where contype = 'f' and connamespace = 'public'::regnamespace
        and (select count(*) from pg_attribute a where a.attrelid in (k.conrelid, k.confrelid) and a.attname = 'project_id') = 2
        and not exists (select from unnest(k.conkey, k.confkey) as c(here, there)
          join pg_attribute h on h.attrelid = k.conrelid and h.attnum = c.here and h.attname = 'project_id'
          join pg_attribute t on t.attrelid = k.confrelid and t.attnum = c.there and t.attname = 'project_id')`,
    );
    expect(keys).toEqual([]);
  });
});

describe('what is visible', () => {
  it('without a scope is nothing, in any table or view', async () => {
    for (const project of [undefined, 999]) {
      const found = await seen(service, project);
      expect(found.size).toBeGreaterThan(70);
      for (const [relation, rows] of found) expect([named(relation), rows]).toEqual([named(relation), []]);
    }
  });

  it('in the scope of a project is all of that project and nothing else, in every table and view', async () => {
    const all = await seen(owner);
    const own = { [A]: await seen(service, A), [B]: await seen(service, B) };
    for (const [relation, rows] of all)
      for (const project of relation.name === 'dim_date' ? [] : [A, B]) {
        // days belong to no project
        const expected = rows.filter((row) => projectOf(relation, row) === project);
        expect([named(relation), expected.length > 0]).toEqual([named(relation), true]);
        expect([named(relation), sorted(own[project]?.get(relation))]).toEqual([
          named(relation),
          sorted(expected),
        ]);
      }
  });

  it('through functions over many rows is the project of the scope', async () => {
    await takenBack(service, A, async () => {
      const asBuilt = `select count(*)::int as n from report.as_built($1, 'N', 1000, 2000)`;
      const intervals = `select count(*)::int as n from report.support_in_intervals($1, 'N', 10)`;
      const face = `select count(*)::int as n from report.face_at($1, 'N', now())`;
      const between = `select count(*)::int as n from report.advance_between($1, 'N', '2027-01-01Z', '2028-01-01Z')`;
      const rolling = `select count(*)::int as n from report.rolling_advance($1, 'N', 24)`;
      const progress = `select count(*)::int as n from report.programme_progress($1, 'N', 'plan-' || $1)`;
      const rockMass = `select count(*)::int as n from report.rock_mass_in_intervals($1, 'N', 10)`;
      for (const sql of [asBuilt, intervals, face, between, rolling, progress, rockMass]) {
        expect(await rowsOf(service, sql, ['ALPHA'])).not.toEqual([{ n: 0 }]);
        expect(await rowsOf(service, sql, ['BETA'])).toEqual([{ n: 0 }]);
      }
      expect(await rowsOf(service, 'select from history.rows_of($1, 1)', [B])).toEqual([]);
    });
  });
});

const sorted = (rows: Row[] = []): string[] => rows.map((row) => JSON.stringify(row)).sort();

/** A certified valuation and the tables it refers to. */
const STANDING = [
  ...['valuation', 'certified_line', 'pay_item', 'bill', 'measurement_rule', 'quantity_dispute'],
  ...['hold_point', 'hold_point_release'],
];

describe('in the scope of one project, rows of another', () => {
  const tables = (): string[] => relations.filter(isRecord).map(({ name }) => name);
  const own = (table: string): string => (table === 'project' ? 'id' : 'project_id');
  const one = async (table: string, project: number): Promise<Row> => {
    const computed = `select coalesce(array_agg(attname::text), '{}') from pg_attribute where attrelid = $1::regclass and attgenerated <> ''`;
    const [row] = await rowsOf<{ row: Row }>(
      owner,
      `select to_jsonb(t) - (${computed}) as row from ${table} t where ${own(table)} = $2 order by id limit 1`,
      [table, project],
    );
    return row?.row ?? {};
  };
  const byPolicy = (table: string) => ({
    state: '42501',
    message: `new row violates row-level security policy for table "${table}"`,
  });
  const insert = (table: string, row: Row): string =>
    `insert into public.${table} (${Object.keys(row).join()})
      select ${Object.keys(row).join()} from jsonb_populate_record(null::public.${table}, $1)`;

  it('cannot be inserted', async () => {
    expect(tables().length).toBeGreaterThan(14);
    for (const table of tables()) {
      const row = { ...(await one(table, B)), id: 999 };
      expect(await refusalOf(service, A, insert(table, row), [row])).toMatchObject(byPolicy(table));
    }
  });

  it('cannot be changed or deleted, by key or with all rows', async () => {
    for (const table of tables()) {
      const theirs = `where ${own(table)} = ${B}`;
      const count = `select count(*)::int as n from ${table} where ${own(table)} = ${A}`;
      const [ours] = await rowsOf<{ n: number }>(owner, count);
      await takenBack(service, A, async () => {
        const done = [
          await service.query(`update public.${table} set id = id ${theirs}`),
          await service.query(`update public.${table} set id = id`),
          await service.query(`delete from public.${table} ${theirs}`),
        ];
        expect([table, ...done.map(({ rowCount }) => rowCount)]).toEqual([table, 0, ours?.n, 0]);
      });
    }
  });

  it('cannot be made from a row of its own', async () => {
    for (const table of tables()) {
      const move = `update public.${table} set ${own(table)} = $1 where id = $2`;
      const { id } = await one(table, A);
      expect(await refusalOf(service, A, move, [B, id])).toMatchObject(byPolicy(table));
    }
  });

  it('cannot be referred to, by any foreign key, from a new row or an old one', async () => {
    const keys = await rowsOf<{ name: string; table: string; column: string }>(
      owner,
      `select conname as name, conrelid::regclass::text as table,
        (select attname from pg_attribute where attrelid = conrelid and attnum = conkey[1]) as column
        from pg_constraint where contype = 'f' and connamespace = 'public'::regnamespace and cardinality(conkey) > 1 and conname !~ '^(machine_sample|certified_source|alert_drive_id)' order by 1`,
    );
    expect(keys.length).toBeGreaterThan(12);
    for (const { name, table, column } of keys) {
      const [ours, theirs] = [await one(table, A), await one(table, B)];
      expect(theirs[column]).not.toBeNull();
      // away from existing rows of the other project's drive
      const row = {
        ...ours,
        [column]: theirs[column],
        ...(Object.hasOwn(ours, 'to_m') ? { from_m: 500, to_m: 501 } : {}),
        ...(table === 'drive' ? { code: 'X' } : {}),
        ...(['support_installed', 'shift_confirmation'].includes(table) ? { line: 9 } : {}),
        ...(['valuation', 'lugeon_step', 'grout_mix'].includes(table) ? { number: 9 } : {}),
      };
      const changed = Object.keys(row).map((key) => `${key} = r.${key}`);
      const update = `update public.${table} t set ${changed.join()} from jsonb_populate_record(null::public.${table}, $1) r where t.id = r.id`;
      expect(await refusalOf(service, A, update, [row])).toMatchObject({ state: '23503', constraint: name });
      if (STANDING.includes(table)) continue; // except standing records, which a new row would overlap
      const added = await takenBack(service, A, async () => {
        if (!['drive', 'baseline'].includes(table)) await service.query(`delete from public.${table}`); // except rows that are referred to
        return service
          .query(insert(table, row), [{ ...row, id: 999 }])
          .catch((error: pg.DatabaseError) => error);
      });
      expect(added).toMatchObject({ code: '23503', constraint: name });
    }
  });
});
