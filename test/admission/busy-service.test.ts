import pg from 'pg';
import { ControlConnection } from '../../src/common/database/control-connection.js';
import { Database } from '../../src/common/database/database.js';
import { Gate } from '../../src/common/database/gate.js';
import { inScope, type Scope } from '../../src/common/database/scope.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { type Guarded, startGuarded } from '../harness/guarded.js';
import { until, waitingSessions } from '../harness/until.js';

// Four connections: three for work, two of them for heavy work, one of these for one caller.
const DRIVE = '/v1/projects/P1/drives/N';
/** Heavy, and reads a table that nothing else in this file uses. */
const HEAVY = `${DRIVE}/discontinuities/sets`;

let service: Guarded;
let blocker: pg.Client;
let base: string;
const tokens = new Map<string, string>();

const as = (who: string): { authorization: string } => ({ authorization: `Bearer ${tokens.get(who)}` });
const get = (who: string, path: string, init: RequestInit = {}): Promise<Response> =>
  fetch(base + path, { headers: as(who), ...init });
const query = (who: string, text: string, init: RequestInit = {}): Promise<Response> =>
  fetch(`${base}/graphql`, {
    ...init,
    method: 'POST',
    headers: { ...as(who), 'content-type': 'application/json' },
    body: JSON.stringify({ query: text }),
  });

const state = () => service.app.get(Gate).admission.state;

/** Number of statements waiting for the lock held by this test. */
const heldStatements = async (): Promise<number> => (await waitingSessions(service)).length;

beforeAll(async () => {
  service = await startGuarded('olga', {
    DATABASE_POOL_SIZE: '4',
    DATABASE_LOCK_TIMEOUT_MS: '600000',
    DATABASE_STATEMENT_TIMEOUT_MS: '600000',
    DATABASE_QUEUE_TIMEOUT_MS: '600000',
    DATABASE_LIGHT_TIMEOUT_MS: '540000',
    DATABASE_AS_OF_TIMEOUT_MS: '570000',
  });
  base = (await service.app.getUrl()).replace('[::1]', '127.0.0.1');
  for (const who of ['olga', 'vic', 'wes']) tokens.set(who, await service.token(who));
  const { http } = service;
  await aProject({
    ...service,
    http: { ...http, put: (path: string) => http.put(path).set(as('olga')) } as unknown as Guarded['http'],
  });
  await service.sql(
    `insert into member (project_id, subject, role)
     select id, who, role::role from project, (values ('vic', 'viewer'), ('wes', 'engineer')) m(who, role)`,
  );
  blocker = new pg.Client({ connectionString: service.url });
  await blocker.connect();
});

beforeEach(() => blocker.query('begin; lock table discontinuity in access exclusive mode'));

afterEach(async () => {
  await blocker.query('rollback');
  await until(() => state().heavy.inUse + state().heavy.waiting === 0);
});

afterAll(async () => {
  await blocker.end();
  await service.close();
});

it('answers others, and light work of the same caller, while one asks for too much', async () => {
  const asked = Array.from({ length: 70 }, () => get('vic', HEAVY));
  await until(() => state().heavy.waiting === 64 && state().heavy.refused >= 5);

  expect((await get('wes', '/v1/health')).status).toBe(200);
  expect((await get('wes', '/v1/health/live')).status).toBe(200);
  expect((await get('wes', `${DRIVE}/progress`)).status).toBe(200);
  expect((await get('vic', `${DRIVE}/progress`)).status).toBe(200);
  expect((await get('wes', `${DRIVE}/ledger/codes`)).status).toBe(200); // heavy, from another caller
  const put = await fetch(`${base}${DRIVE}/shifts/2027-03-01/day`, {
    method: 'PUT',
    headers: { ...as('wes'), 'content-type': 'application/json' },
    body: JSON.stringify(aShift().withActivity('MAINT', '06:00', '18:00').build()),
  });
  expect(put.status).toBe(201);
  expect(await heldStatements()).toBe(1);

  await blocker.query('rollback');
  const answers = await Promise.all(asked);
  expect(answers.filter(({ status }) => status === 200)).toHaveLength(65);
  const refused = answers.filter(({ status }) => status === 503);
  expect(refused).toHaveLength(5);
  for (const answer of refused) {
    const { type, detail, retryAfterS } = (await answer.json()) as Record<string, unknown>;
    expect(type).toBe('/docs/problems#unavailable');
    expect(detail).toMatch(/64 heavy requests of this caller are waiting already/);
    expect(Number(answer.headers.get('retry-after'))).toBe(retryAfterS);
  }
});

it('uses one place for a GraphQL query, whose heavy fields run one after another', async () => {
  const answers = ['a', 'b'].map((name) =>
    query(
      'vic',
      `{ drive(project: "P1", drive: "N") { code ${name}: discontinuitySets { caution }
         more: discontinuitySets { caution } } }`,
    ),
  );
  await until(() => state().heavy.waiting === 1);
  expect(state().heavy.inUse).toBe(1);
  await blocker.query('rollback');
  expect((await Promise.all(answers)).map(({ status }) => status)).toEqual([200, 200]);
});

it('ends a GraphQL query whose sender disconnected, while queued or running', async () => {
  const senders = [new AbortController(), new AbortController()];
  const gone = senders.map(({ signal }) =>
    query(
      'vic',
      `{ drive(project: "P1", drive: "N") { discontinuitySets { caution } progress { faceChainage } } }`,
      {
        signal,
      },
    ).catch((error: Error) => error.name),
  );
  await until(() => state().heavy.waiting === 1);
  await until(async () => (await heldStatements()) === 1);
  for (const sender of senders) sender.abort();
  expect(await Promise.all(gone)).toEqual(['AbortError', 'AbortError']);
  await until(() => state().heavy.waiting === 0 && state().heavy.inUse === 0);
  await blocker.query('rollback');
});

it('refuses by GraphQL with 503 and Retry-After where nothing could be read', async () => {
  const asked = Array.from({ length: 65 }, () => get('vic', HEAVY));
  await until(() => state().heavy.waiting === 64);
  const asOf = new Date(Date.now() - 1000).toISOString();
  const refused = await query('vic', `{ drive(project: "P1", drive: "N", asOf: "${asOf}") { code } }`); // heavy because of its moment
  const { errors } = (await refused.json()) as { errors: { extensions: { retryAfterS: number } }[] };
  expect(refused.status).toBe(503);
  expect(Number(refused.headers.get('retry-after'))).toBe(errors[0]?.extensions.retryAfterS);
  await blocker.query('rollback');
  await Promise.all(asked);
});

it('cancels the query of a sender that disconnected, and admits the next', async () => {
  const senders = [new AbortController(), new AbortController()];
  const gone = senders.map(({ signal }) => get('vic', HEAVY, { signal }).catch((error: Error) => error.name));
  const stays = get('vic', HEAVY);
  await until(() => state().heavy.waiting === 2);
  await until(async () => (await heldStatements()) === 1);
  const pid = async (): Promise<number | undefined> => (await waitingSessions(service))[0];
  const first = await pid();
  for (const sender of senders) sender.abort();
  expect(await Promise.all(gone)).toEqual(['AbortError', 'AbortError']);
  await until(() => state().heavy.waiting === 0);
  expect(state().heavy.inUse).toBe(1);
  await until(async () => (await pid()) !== undefined);
  expect(first).toBeDefined();
  await blocker.query('rollback');
  expect((await stays).status).toBe(200);
});

it('reports its health while every connection of the pool is in use', async () => {
  const database = service.app.get(Database);
  await blocker.query('select pg_advisory_xact_lock(4711)');
  const holding = Array.from({ length: 6 }, () =>
    database.ask('select pg_advisory_xact_lock(4711)::text as held'),
  );
  await until(() => database.connections.waiting === 2);
  expect((await fetch(`${base}/v1/health`)).status).toBe(200);
  await blocker.query('rollback');
  await Promise.all(holding);
});

it('says 503 while the database accepts no connection, and recovers', async () => {
  const name = new URL(service.url).pathname.slice(1);
  const away = async (isUnavailable: boolean): Promise<void> => {
    const url = new URL(service.url);
    url.pathname = '/postgres';
    const other = new pg.Client({ connectionString: url.href });
    await other.connect();
    await other.query(`alter database ${name} allow_connections ${!isUnavailable}`);
    if (isUnavailable)
      await other.query(
        `select pg_terminate_backend(pid) from pg_stat_activity where datname = $1 and application_name = 'drivebook control'`,
        [name],
      );
    await other.end();
  };
  const health = async (): Promise<Response> => fetch(`${base}/v1/health`);
  await away(true);
  await until(async () => (await health()).status === 503);
  const answer = await health();
  expect(answer.headers.get('retry-after')).toMatch(/^\d+$/);
  expect(await answer.json()).toMatchObject({
    type: '/docs/problems#unavailable',
    detail: 'The database does not answer.',
  });
  expect((await fetch(`${base}/v1/health/live`)).status).toBe(200);
  await away(false);
  await until(async () => (await health()).status === 200);
});

it('checks the database once per second, however many health requests come', () => {
  const control = service.app.get(ControlConnection);
  expect(control.ready()).toBe(control.ready());
});

it('limits a statement by the class of its query', async () => {
  const database = service.app.get(Database);
  const scope: Scope = { projectId: 1, project: 'P1', actor: 'vic', credential: 'token' };
  const limit = async (more: Partial<Scope>): Promise<string | undefined> =>
    inScope({ ...scope, ...more }, async () => {
      const [row] = await database.read<{ limit: string }>(
        `select current_setting('statement_timeout') as limit`,
      );
      return row?.limit;
    });
  expect(await limit({})).toBe('9min');
  expect(await limit({ load: { cost: 1 } })).toBe('10min');
  expect(await limit({ asOf: { change: 1 } })).toBe('570s');
});
