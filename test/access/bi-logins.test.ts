import pg from 'pg';
import { applyRights } from '../../src/common/database/rights.js';
import { BI_ROLE } from '../../src/common/database/roles.js';
import { wholeRecord } from '../builders/whole-record.js';
import { captured } from '../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalOf, rowsOf } from '../harness/service-role.js';

// BI logins, created by the command. What each reads is compared with what the owner reads of its granted projects.

const before = process.env.DATABASE_URL;
const LOGIN = `bi_${process.pid}`;
const OTHER = `bi_other_${process.pid}`;

let database: TestDatabase;
let owner: pg.Client;
let reading: pg.Client;
let address: string;

const bi = (...args: string[]): ReturnType<typeof captured> => captured('bi', ...args);

const connected = async (url: string): Promise<pg.Client> => {
  const client = new pg.Client({ connectionString: url });
  client.on('error', () => undefined); // the command ends some of them
  await client.connect();
  return client;
};

const codes = (client: pg.Client): Promise<object[]> => rowsOf(client, 'select code from project order by 1');

/** Whether the connection was ended: the client notices at its next statement at the latest. */
const isEnded = async (client: pg.Client): Promise<boolean> =>
  client.query('select 1').then(
    () => false,
    () => true,
  );

beforeAll(async () => {
  database = await freshDatabase();
  process.env.DATABASE_URL = database.url;
  owner = await connected(database.url);
  await owner.query(`${wholeRecord(1, 'ALPHA')} ${wholeRecord(2, 'BETA')}`);
  const { status, out, err } = await bi('grant', LOGIN, '--project', 'ALPHA');
  if (status !== 0) throw new Error(err);
  address = out.split('\n')[1] ?? '';
  reading = await connected(address);
});

afterAll(async () => {
  if (before === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = before;
  await reading.end().catch(() => undefined);
  await owner.query(`drop role if exists ${LOGIN}; drop role if exists ${OTHER}`);
  await owner.end();
  await database.drop();
});

it('is a login of the role for BI alone, with its limits, whose password is printed once', async () => {
  const [role] = await rowsOf(
    owner,
    `select rolsuper or rolbypassrls or rolcreaterole or rolcreatedb or rolreplication as power, rolcanlogin as login, rolconnlimit as connections,
      rolconfig as settings, array(select roleid::regrole::text from pg_auth_members where member = r.oid) as memberships,
      (select count(*)::int from pg_shdepend where refclassid = 'pg_authid'::regclass and refobjid = r.oid) as rights
      from pg_roles r where rolname = $1`,
    [LOGIN],
  );
  expect(role).toEqual({
    power: false,
    login: true,
    connections: 10,
    settings: [
      'default_transaction_read_only=on',
      'jit=off',
      'statement_timeout=60s',
      'idle_in_transaction_session_timeout=60s',
    ],
    memberships: [BI_ROLE],
    rights: 0,
  });
  expect(await rowsOf(reading, `select current_setting('statement_timeout') as t`)).toEqual([{ t: '1min' }]);
  await rowsOf(reading, 'set session characteristics as transaction read write');
  await rowsOf(reading, `alter role ${LOGIN} set default_transaction_read_only = off`); // PostgreSQL lets every role
  const again = await bi('grant', LOGIN, '--project', 'ALPHA', '--connections', '3');
  expect(again).toMatchObject({ status: 0, out: `${LOGIN} reads project ALPHA.\n`, err: '' });
  expect(
    await rowsOf(
      owner,
      `select rolconnlimit as n, rolconfig @> '{default_transaction_read_only=on}' as held from pg_roles where rolname = $1`,
      [LOGIN],
    ),
  ).toEqual([{ n: 3, held: true }]);
  await rowsOf(reading, 'set session characteristics as transaction read only');
});

it('reads every report as the owner does, of its project and of no other', async () => {
  const views = await rowsOf<{ name: string }>(
    owner,
    `select table_name as name from information_schema.columns
      where table_schema = 'report' and column_name = 'project_code' and table_name <> 'change' order by 1`,
  );
  expect(views.length).toBeGreaterThan(90);
  for (const { name } of views) {
    const all = await rowsOf(
      owner,
      `select to_jsonb(v) as row from report.${name} v where project_code = 'ALPHA' order by 1`,
    );
    const found = await rowsOf(reading, `select to_jsonb(v) as row from report.${name} v order by 1`);
    expect([name, found]).toEqual([name, all]);
  }
  const built = `select count(*)::int as n from report.as_built($1, 'N', 1000, 2000)`;
  const [ofOwner] = await rowsOf<{ n: number }>(owner, built, ['ALPHA']);
  expect(ofOwner?.n).toBeGreaterThan(0);
  expect(await rowsOf(reading, built, ['ALPHA'])).toEqual([ofOwner]);
  expect(
    (await refusalOf(reading, undefined, `select * from report.as_built('BETA', 'N', 1000, 2000)`)) ?? [],
  ).toEqual(
    (await refusalOf(reading, undefined, `select * from report.as_built('NONE', 'N', 1000, 2000)`)) ?? [],
  );
});

it('reads every view that has no project', async () => {
  const views = await rowsOf<{ name: string }>(
    owner,
    `select relname as name from pg_class where relnamespace = 'report'::regnamespace and relkind = 'v' and relname <> 'change' order by 1`,
  );
  for (const { name } of views)
    expect(await rowsOf(reading, `select count(*) from report.${name}`)).toHaveLength(1);
});

it('sees only rows of its project in every table, whichever settings it changes', async () => {
  const tables = await rowsOf<{ name: string; of: string }>(
    owner,
    `select c.relname as name, case c.relname when 'project' then 'id' else 'project_id' end as of from pg_class c
      where relnamespace = 'public'::regnamespace and relkind in ('r', 'p') and has_table_privilege($1, c.oid, 'select') order by 1`,
    [LOGIN],
  );
  expect(tables.length).toBeGreaterThan(50);
  await reading.query(`set drivebook.project = '2'`);
  for (const { name, of } of tables) {
    const [mine] = await rowsOf(owner, `select count(*)::int as n from ${name} where ${of} = 1`);
    expect([
      name,
      await rowsOf(
        reading,
        `select count(*)::int as n, count(*) filter (where ${of} <> 1)::int as others from ${name}`,
      ),
    ]).toEqual([name, [{ ...mine, others: 0 }]]);
  }
  await reading.query('reset drivebook.project');
});

it('writes nothing, and reads neither access nor history nor internal tables of the service', async () => {
  const rights = await rowsOf(
    owner,
    `select c.oid::regclass::text as name from pg_class c
      where relnamespace::regnamespace::text in ('public', 'history', 'as_of', 'report', 'report_as_of', 'report_kept', 'report_since', 'kept')
      and case when relkind in ('r', 'p', 'v') then has_table_privilege($1, c.oid, 'insert, update, delete, truncate, references, trigger')
          or (relnamespace::regnamespace::text not in ('public', 'report') or relname in ('member', 'api_key', 'api_key_use', 'administrator',
            'webhook_secret', 'bi_grant', 'idempotency_key', 'webhook_endpoint', 'outgoing_message', 'webhook_delivery', 'job', '_prisma_migrations'))
            and has_table_privilege($1, c.oid, 'select')
        when relkind = 'S' then has_sequence_privilege($1, c.oid, 'usage, update') end`,
    [LOGIN],
  );
  expect(rights).toEqual([]);
  await reading.query('set default_transaction_read_only = off');
  for (const sql of [
    'delete from shift',
    `insert into bi_grant (project_id, login) values (2, '${LOGIN}')`,
    'select from api_key',
    'select actor from history.change',
    'select remark from history.shift',
    'select id from history.activity',
    'select name from history.party',
    'select length_m from history.probe_hole',
    'select rate from history.pay_item',
    'select id from history.member',
    'set role drivebook_app',
    'set role drivebook_reader',
    `set session authorization ${new URL(database.url).username}`,
    `select project_access('', 'BETA')`,
  ])
    expect([sql, await refusalOf(reading, undefined, sql)]).toEqual([
      sql,
      expect.objectContaining({ state: '42501' }),
    ]);
  await reading.query('reset default_transaction_read_only');
});

it('sees of the history when records of its project last changed, but no earlier version and no removed record', async () => {
  const tables = await rowsOf<{ name: string; columns: string }>(
    owner,
    `select c.oid::regclass::text as name, string_agg(attname, ', ' order by attname) as columns from pg_class c join pg_attribute a on attrelid = c.oid
      where relnamespace = 'history'::regnamespace and attnum > 0 and has_column_privilege($1, c.oid, attnum, 'select') group by c.oid order by 1`,
    [LOGIN],
  );
  const versions = tables.filter(({ name }) => name !== 'history.change');
  expect(tables.filter((table) => !versions.includes(table))).toEqual([
    { name: 'history.change', columns: 'made_at, number, project_id' },
  ]);
  expect([...new Set(versions.map(({ columns }) => columns))].sort()).toEqual([
    'drive_id, from_change, id, project_id, to_change',
    'from_change, id, project_id, to_change',
  ]);
  await owner.query(`update party set name = 'Again' where id = 100; update probe_hole set length_m = 31 where id = 100;
    insert into equipment (id, project_id, code, description) values (190, 1, 'GONE', 'x')`);
  await owner.query('delete from equipment where id = 190');
  for (const { name } of versions) {
    const seen = await rowsOf(reading, `select id, from_change from ${name} order by 1`);
    const table = name.replace('history.', '');
    const standing = await rowsOf(
      owner,
      `select record_id as id, change_number as from_change from report.record_changed
        join ${table} t on t.id = record_id and t.${table === 'project' ? 'id' : 'project_id'} = 1 where table_name = '${table}' order by 1`,
    );
    expect([name, seen]).toEqual([name, standing]);
    expect(seen.length).toBeGreaterThan(0);
  }
});

it('sees the same where an earlier release granted the history of shifts only', async () => {
  const rights = () =>
    rowsOf(
      owner,
      `select polrelid::regclass::text as name, polname, pg_get_expr(polqual, polrelid) as rows, relacl, (select array_agg(attname || attacl::text)
          from pg_attribute where attrelid = c.oid and attacl is not null) as columns
        from pg_policy join pg_class c on c.oid = polrelid where relnamespace = 'history'::regnamespace order by 1, 2`,
    );
  const before = await rights();
  await owner.query(`do $$
    declare
      r record;
    begin
      for r in select polrelid::regclass as name, polname, polroles[1]::regrole as reader, polname ~ 'stands$' as stands from pg_policy
          join pg_class c on c.oid = polrelid
        where relnamespace = 'history'::regnamespace and polroles && array['drivebook_bi', 'drivebook_reader']::regrole[]::oid[]
      loop
        if r.name::text in ('history.shift', 'history.change') and not r.stands then continue; end if;
        execute format('drop policy %I on %s', r.polname, r.name);
        if r.name::text <> 'history.shift' then execute format('revoke select on %s from %s', r.name, r.reader); end if;
      end loop;
    end $$`);
  expect((await rights()).filter(({ name }) => name === 'history.party')).toHaveLength(2);
  await applyRights(owner);
  expect(await rights()).toEqual(before);
});

it('takes no lock that the service writes by, and stores nothing', async () => {
  await reading.query('set default_transaction_read_only = off');
  const locks = await rowsOf<{ call: string }>(
    owner,
    `select format('%s(%s)', proname, array_to_string(array_fill('1'::text, array[pronargs]), ', ')) as call from pg_proc
      where pronamespace = 'pg_catalog'::regnamespace and proname ~ '^pg_(try_)?advisory.*lock' and pronargs > 0 order by 1`,
  );
  // PostgreSQL 18, table 9.110: locking and trying, of a session and of a transaction, shared and not, and unlocking of a session; of one key or two
  expect(locks).toHaveLength(20);
  for (const call of [
    ...locks.map((lock) => lock.call),
    'lo_create(0)',
    'lo_creat(-1)',
    `lo_from_bytea(0, 'x')`,
    `pg_logical_emit_message(false, 'x', 'y')`,
  ])
    expect([call, await refusalOf(reading, undefined, `select ${call}`)]).toEqual([
      call,
      expect.objectContaining({ state: '42501' }),
    ]);
  await reading.query('reset default_transaction_read_only');
});

it('reads another project while it is granted, and the history says who granted and revoked it', async () => {
  expect(await codes(reading)).toEqual([{ code: 'ALPHA' }]);
  expect(await bi('grant', LOGIN, '--project', 'BETA')).toMatchObject({ status: 0 });
  expect(await codes(reading)).toEqual([{ code: 'ALPHA' }, { code: 'BETA' }]);
  const listed = await bi('list', '--json');
  expect(JSON.parse(listed.out)).toEqual(
    expect.arrayContaining([
      expect.objectContaining({ login: LOGIN, project: 'ALPHA' }),
      expect.objectContaining({
        login: LOGIN,
        project: 'BETA',
        grantedBy: expect.stringMatching(/^command:/),
      }),
    ]),
  );
  await reading.query('begin isolation level repeatable read'); // it would continue to see the current record
  expect(await codes(reading)).toHaveLength(2);
  expect(await bi('revoke', LOGIN, '--project', 'BETA')).toMatchObject({
    status: 0,
    out: `${LOGIN} no longer reads project BETA.\n`,
    err: '',
  });
  expect(await isEnded(reading)).toBe(true);
  reading = await connected(address);
  expect(await codes(reading)).toEqual([{ code: 'ALPHA' }]);
  const changes = await rowsOf(
    owner,
    `select actor, tables from report.change where project_id = 2 and 'bi_grant' = any (tables) order by number desc limit 2`,
  );
  expect(changes).toEqual(Array(2).fill({ actor: expect.stringMatching(/^command:/), tables: ['bi_grant'] }));
});

it('gets a new password on request', async () => {
  const { out } = await bi('password', LOGIN, '--json');
  const renewed = JSON.parse(out) as { address: string };
  await expect(connected(address)).rejects.toMatchObject({ code: '28P01' });
  const client = await connected(renewed.address);
  expect(await codes(client)).toEqual([{ code: 'ALPHA' }]);
  await client.end();
  address = renewed.address;
});

it('disappears when it is removed, with its connections and grants', async () => {
  await bi('grant', OTHER, '--project', 'ALPHA');
  await bi('grant', OTHER, '--project', 'BETA');
  const { out } = await bi('password', OTHER, '--json');
  const client = await connected((JSON.parse(out) as { address: string }).address);
  expect(await bi('remove', OTHER)).toMatchObject({ status: 0, out: `${OTHER} is removed.\n` });
  expect(await isEnded(client)).toBe(true);
  expect(await rowsOf(owner, 'select login from bi_grant where login = $1', [OTHER])).toEqual([]);
  expect(await rowsOf(owner, 'select rolname from pg_roles where rolname = $1', [OTHER])).toEqual([]);
  expect(await bi('remove', OTHER)).toMatchObject({ status: 1, err: `There is no BI login ${OTHER}.\n` });
});

it.each(['Reports', 'pg_reports', 'drivebook_app', '', 'a'.repeat(64)])(
  'the database grants nothing to %j',
  async (name) => {
    const sql = `insert into bi_grant (project_id, login) values (1, '${name}')`;
    expect(await refusalOf(owner, 1, sql)).toMatchObject({ state: '23514' });
  },
);

it.each([
  [['grant', LOGIN, '--project', 'NONE'], 1, 'There is no project NONE.'],
  [['revoke', LOGIN, '--project', 'BETA'], 1, `${LOGIN} does not read project BETA.`],
  [['grant', 'Robert; drop', '--project', 'ALPHA'], 2, 'must be 1 to 63 lower-case letters'],
  [['grant', 'drivebook_app', '--project', 'ALPHA'], 2, 'must be 1 to 63 lower-case letters'],
  [['grant', 'pg_monitor', '--project', 'ALPHA'], 2, 'must be 1 to 63 lower-case letters'],
  [['grant', LOGIN, '--project', 'ALPHA', '--timeout-s', '0'], 2, 'whole number from 1 to 3600'],
  [['grant', LOGIN], 2, '--project'],
])('refuses %j', async (args, status, message) => {
  const refused = await bi(...args);
  expect([refused.status, refused.err]).toEqual([status, expect.stringContaining(message)]);
});

describe('an owner that may not create logins', () => {
  it('prints what a superuser has to run, and grants nothing', async () => {
    const name = `bi_owner_${process.pid}`;
    await owner.query(`create role ${name} login password 'secret'`);
    try {
      await owner.query(`grant ${new URL(database.url).username} to ${name}`);
      const weak = `bi_weak_${process.pid}`;
      process.env.DATABASE_URL = Object.assign(new URL(database.url), {
        username: name,
        password: 'secret',
      }).href;
      const refused = await bi('grant', weak, '--project', 'ALPHA');
      expect(refused.status).toBe(1);
      expect(refused.err).toContain(`create role "${weak}" login inherit`);
      expect(await rowsOf(owner, 'select login from bi_grant where login = $1', [weak])).toEqual([]);
    } finally {
      process.env.DATABASE_URL = database.url;
      await owner.query(`drop role ${name}`);
    }
  });

  it('does not use a role of another purpose as a BI login', async () => {
    await owner.query(`create role ${OTHER} login`);
    const refused = await bi('grant', OTHER, '--project', 'ALPHA');
    expect([refused.status, refused.err]).toEqual([
      1,
      `${OTHER} is already a role of this database server: choose another name.\n`,
    ]);
    expect(await bi('remove', OTHER)).toMatchObject({ status: 1 });
  });
});
