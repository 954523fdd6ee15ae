import { randomUUID } from 'node:crypto';
import pg from 'pg';
import { byLogin, prepareRoles, READER_ROLE } from '../../src/common/database/roles.js';
import { applyRights } from '../../src/common/database/rights.js';
import { wholeRecord } from '../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalOf, rowsOf } from '../harness/service-role.js';

// The service's own login, and a read-only one. PostgreSQL is asked for the rights of each.

const service = { name: `service_${randomUUID().slice(0, 8)}`, password: "a service's" };
const reader = { name: READER_ROLE, password: 'a reader' };

let database: TestDatabase;
let owner: pg.Client;

const connected = async (url: string): Promise<pg.Client> => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  return client;
};

const SCHEMAS = `('public', 'history', 'as_of', 'report', 'report_as_of', 'report_kept', 'report_since', 'kept')`;

/** Functions with their owner's rights that are not triggers. */
const CALLED = `select p.oid, proname as name from pg_proc p where prosecdef and prorettype <> 'trigger'::regtype
  and pronamespace::regnamespace::text in ${SCHEMAS}`;

beforeAll(async () => {
  database = await freshDatabase();
  owner = await connected(database.url);
  await owner.query(`${wholeRecord(1, 'ALPHA')} ${wholeRecord(2, 'BETA')}`);
  await prepareRoles(database.url, { ours: { service, reader } });
  await applyRights(owner);
});

afterAll(async () => {
  await owner.query(`drop role ${service.name}`);
  await owner.end();
  await database.drop();
});

describe('functions that run as their owner', () => {
  it('are closed to the public, all of them', async () => {
    const all = await rowsOf<{ name: string; open: boolean }>(
      owner,
      `select p.oid::regprocedure::text as name, has_function_privilege('public', p.oid, 'execute') as open
        from pg_proc p where prosecdef and pronamespace::regnamespace::text in ${SCHEMAS}`,
    );
    expect(all.length).toBeGreaterThan(50);
    expect(all.filter(({ open }) => open)).toEqual([]);
  });

  it('are open to the service by name', async () => {
    const open = await rowsOf<{ name: string }>(
      owner,
      `select name from (${CALLED}) f where has_function_privilege('drivebook_app', oid, 'execute') order by 1`,
    );
    expect(open.map(({ name }) => name)).toEqual([
      'alert_drives',
      'analyse_grown',
      'applied_migrations',
      'claim_job',
      'due_webhook_deliveries',
      'is_administrator',
      'keep_draft_sums',
      'keep_judgement',
      'live_api_key',
      'live_api_key_prefixes',
      'make_sample_month',
      'next_webhook_delivery_s',
      'note_job',
      'project_access',
      'project_codes',
      'raise_alerts',
      'release_job',
      'remove_old_messages',
      'renew_job',
      'retire_webhook_endpoint',
      'retired_sample_months',
      'service_measures',
      'settle_job',
      'settle_webhook_delivery',
      'sweep_jobs',
      'time_zone_of',
      'use_api_key',
    ]);
  });
});

describe('the login of the service', () => {
  it('has no power, owns nothing and belongs to the service’s role alone', async () => {
    const [role] = await rowsOf(
      owner,
      `select rolsuper or rolbypassrls or rolcreaterole or rolcreatedb or rolreplication or rolinherit as power, rolcanlogin as login,
        array(select roleid::regrole::text from pg_auth_members where member = r.oid) as memberships,
        (select count(*)::int from pg_shdepend where refclassid = 'pg_authid'::regclass and refobjid = r.oid) as rights
        from pg_roles r where rolname = $1`,
      [service.name],
    );
    expect(role).toEqual({ power: false, login: true, memberships: ['drivebook_app'], rights: 0 });
  });

  it('gains nothing by leaving the service’s role', async () => {
    const client = await connected(byLogin(database.url, service));
    try {
      await client.query('set role drivebook_app');
      await client.query(`select set_config('drivebook.project', '1', false)`);
      expect(await rowsOf(client, 'select code from project')).toEqual([{ code: 'ALPHA' }]);
      await client.query('reset role');
      await expect(client.query('select code from project')).rejects.toMatchObject({ code: '42501' });
      await expect(client.query(`select live_api_key('x')`)).rejects.toMatchObject({ code: '42501' });
      await expect(client.query(`set role ${new URL(database.url).username}`)).rejects.toMatchObject({
        code: '42501',
      });
    } finally {
      await client.end();
    }
  });

  it('is told from one that gains something', async () => {
    expect(await prepareRoles(database.url, { service })).toBe(true);
    expect(await prepareRoles(database.url, {})).toBe(false);
    await owner.query(`grant ${new URL(database.url).username} to ${service.name}`);
    expect(await prepareRoles(database.url, { service })).toBe(false);
    await owner.query(`revoke ${new URL(database.url).username} from ${service.name}`);
  });

  it('needs its password', async () => {
    const wrong = byLogin(database.url, { ...service, password: 'guessed' });
    await expect(connected(wrong)).rejects.toMatchObject({ code: '28P01' });
  });
});

describe('the reader', () => {
  let reading: pg.Client;

  beforeAll(async () => {
    reading = await connected(byLogin(database.url, reader));
  });

  afterAll(() => reading.end());

  it('reads every report but the changes as the owner does, of all projects', async () => {
    const views = await rowsOf<{ name: string }>(
      owner,
      `select relname as name from pg_class where relnamespace = 'report'::regnamespace and relkind = 'v' and relname <> 'change' order by 1`,
    );
    expect(views.length).toBeGreaterThan(60);
    for (const { name } of views) {
      const sql = `select count(*)::int as n from report.${name}`;
      expect([name, await rowsOf(reading, sql)]).toEqual([name, await rowsOf(owner, sql)]);
    }
    expect(
      await rowsOf(reading, 'select distinct project_code as code from report.stroke order by 1'),
    ).toEqual([{ code: 'ALPHA' }, { code: 'BETA' }]);
    for (const project of ['ALPHA', 'BETA']) {
      const sql = `select record, reference, quantity from report.as_built($1, 'N', 1000, 2000) order by 1, 2`;
      const rows = await rowsOf(reading, sql, [project]);
      expect(rows.length).toBeGreaterThan(0);
      expect(rows).toEqual(await rowsOf(owner, sql, [project]));
    }
  });

  it('writes nothing, and reads neither keys nor members nor the history', async () => {
    const rights = await rowsOf(
      owner,
      `select c.oid::regclass::text as name from pg_class c where relnamespace::regnamespace::text in ${SCHEMAS}
        and case when relkind in ('r', 'p', 'v') then has_table_privilege($1, c.oid, 'insert, update, delete, truncate, references, trigger')
          when relkind = 'S' then has_sequence_privilege($1, c.oid, 'usage, update') end
      union all select c.oid::regclass::text from pg_class c where (relnamespace::regnamespace::text in ('history', 'as_of', 'report_as_of')
          or relname in ('member', 'api_key', 'api_key_use', 'administrator', 'webhook_secret', '_prisma_migrations'))
        and relkind in ('r', 'p', 'v') and has_table_privilege($1, c.oid, 'select')
      union all select nspname from pg_namespace where nspname in ${SCHEMAS} and has_schema_privilege($1, oid, 'create')`,
      [READER_ROLE],
    );
    expect(rights).toEqual([]);
    for (const sql of [
      'delete from shift',
      'insert into drive default values',
      'select from api_key',
      'select from report.change',
    ])
      expect(await refusalOf(reading, undefined, sql)).toMatchObject({ state: '42501' });
  });

  it('may call none of the functions that run as their owner, nor take another role', async () => {
    const open = `select name from (${CALLED}) f where has_function_privilege($1, oid, 'execute')`;
    expect(await rowsOf(owner, open, [READER_ROLE])).toEqual([]);
    await expect(reading.query(`select live_api_key('x')`)).rejects.toMatchObject({ code: '42501' });
    await expect(reading.query('set role drivebook_app')).rejects.toMatchObject({ code: '42501' });
  });
});
