import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { Database } from '../../src/common/database/database.js';
import { inScope, type Scope } from '../../src/common/database/scope.js';
import { isUnavailable } from '../../src/common/database/sql-error.js';
import { OutcomeUnknown } from '../../src/common/database/transaction.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { Proxy } from '../harness/proxy.js';
import { inLong, inTurn, itOnce } from '../harness/sizes.js';

const LIMITS = loadConfig({ DATABASE_STATEMENT_TIMEOUT_MS: '60000' });

let app: TestApp;
let proxy: Proxy;
let database: Database;
let scope: Scope;

beforeAll(async () => {
  app = await startApp({ DATABASE_POOL_SIZE: '1' });
  await aProject(app);
  const [project] = await app.sql<{ id: number }>(`select id from project where code = 'P1'`);
  scope = { projectId: project?.id ?? 0, project: 'P1', actor: 'test', credential: 'test' };
});

afterAll(() => app.close());

beforeEach(async () => {
  proxy = await Proxy.start(app.url);
  database = new Database(proxy.url, 1, LIMITS);
  await database.prove();
});

afterEach(async () => {
  proxy.restore();
  await database.close();
  await proxy.close();
});

const works = async (): Promise<void> => {
  expect(await inScope(scope, () => database.read('select code from project'))).toEqual([{ code: 'P1' }]);
  await inScope(scope, () =>
    database.atomic((transaction) => transaction.$executeRawUnsafe(`update project set name = name || '.'`)),
  );
  expect(await database.ask('select 1 as one')).toEqual([{ one: 1 }]);
};

/** Runs a query on the server processes of the pool once they are in the given state. */
const onceAt = async (state: string, ask = 'pid'): Promise<void> => {
  const name = new URL(app.url).pathname.slice(1);
  for (;;) {
    const found = await app.sql(
      `select ${ask} from pg_stat_activity
       where datname = $1 and pid <> pg_backend_pid() and backend_type = 'client backend' and ${state}`,
      [name],
    );
    if (found.length > 0) return;
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
};

/** Terminates them. */
const terminate = (state: string): Promise<void> => onceAt(state, 'pg_terminate_backend(pid)');

const sleeping = `wait_event = 'PgSleep'`;

/** Waits until the test releases its lock; returns text. */
const WAITS = `select 'late' as came, pg_advisory_xact_lock(4711)::text`;
const waitsForLock = `wait_event_type = 'Lock' and wait_event = 'advisory'`;

/** While the work runs, WAITS statements block until the work releases them. */
const heldUp = async (work: (giveWay: () => Promise<void>) => Promise<void>): Promise<void> => {
  const holder = new pg.Client({ connectionString: app.url });
  await holder.connect();
  try {
    await holder.query('select pg_advisory_lock(4711)');
    await work(async () => void (await holder.query('select pg_advisory_unlock(4711)')));
  } finally {
    await holder.end();
  }
};

const kinds: [string, (sql: string) => Promise<unknown>][] = [
  ['ask', (sql) => database.ask(sql)],
  ['a reading', (sql) => database.read(sql)],
  ['a transaction', (sql) => database.atomic((transaction) => transaction.$executeRawUnsafe(sql))],
  ['a transaction in bulk', (sql) => database.bulk((send) => send(sql))],
];

/** It may succeed later, whether or not the outcome is known. */
const isPassing = (error: unknown): boolean => isUnavailable(error) || error instanceof OutcomeUnknown;

const failureOf = (work: () => Promise<unknown>): Promise<unknown> =>
  inScope(scope, work).then(
    () => undefined,
    (error: unknown) => error,
  );

describe('a connection that breaks', () => {
  itOnce.each(kinds.slice(1))('in %s fails only that one: 503, and the next is served', async (_, run) => {
    const failed = failureOf(() => run('select pg_sleep(60)::text'));
    await terminate(sleeping);
    expect(isUnavailable(await failed)).toBe(true);
    await works();
  });

  itOnce.each([
    ['atomic', () => database.atomic(async () => proxy.cut())],
    ['bulk', () => database.bulk(async () => proxy.cut())],
    [
      'reading',
      () => database.reading(async (statements) => (proxy.cut(), statements.$queryRawUnsafe('select 1'))),
    ],
  ] as [string, () => Promise<unknown>][])('between the statements of %s likewise', async (_, run) => {
    expect(isPassing(await failureOf(run))).toBe(true);
    await works();
  });

  itOnce('during a query makes the service repeat it', async () => {
    await heldUp(async (giveWay) => {
      const answer = database.ask(WAITS);
      await terminate(waitsForLock);
      await onceAt(waitsForLock); // it is retried
      await giveWay();
      expect(await answer).toMatchObject([{ came: 'late' }]);
    });
  });

  itOnce('while it is idle is replaced', async () => {
    for (const [, run] of kinds) {
      await terminate(`state = 'idle'`);
      await inScope(scope, () => run('select 1'));
      proxy.cut();
      await inScope(scope, () => run('select 1'));
    }
  });

  itOnce.each(['before', 'sent', 'answered'] as const)('at the commit (%s) likewise', async (when) => {
    for (const [, run] of kinds.slice(1)) {
      proxy.cutAt({ when, statement: (sql) => /^commit/i.test(sql) });
      await failureOf(() => run('select 1'));
      await works();
    }
  });

  it.each(inTurn(['before', 'sent', 'answered'] as const, 1, 2))(
    'at any statement (%s) likewise',
    async (when) => {
      for (const [, run] of kinds)
        for (let number = 1; number <= 5; number += 1) {
          const until = proxy.statements.length + number;
          proxy.cutAt({ when, statement: (_, at) => at === until });
          const failure = await failureOf(() => run('select 1'));
          if (failure) expect([failure, isPassing(failure)]).toEqual([failure, true]);
          proxy.cutAt(undefined);
          await works();
        }
    },
  );

  itOnce('cannot be made while the server refuses: 503 for each request', async () => {
    proxy.refuse();
    for (const [, run] of kinds) expect(isUnavailable(await failureOf(() => run('select 1')))).toBe(true);
    proxy.restore();
    await works();
  });
});

describe('a connection that falls silent', () => {
  it.each(inTurn(kinds.slice(1), 1, 2))('in %s is given up, and the next is served', async (_, run) => {
    await heldUp(async (giveWay) => {
      const failed = failureOf(() => run(WAITS));
      await onceAt(waitsForLock);
      proxy.stall();
      proxy.restore();
      await giveWay();
      expect(isUnavailable(await failed)).toBe(true);
    });
    await works();
  });

  inLong(() => {
    it('is kept while the server works on the answer', async () => {
      expect(await database.ask(`select 'late' as came, pg_sleep(8)::text`)).toMatchObject([
        { came: 'late' },
      ]);
    });
  });

  itOnce('while it is being made is given up too', async () => {
    await database.ask('begin'); // the connection is not reused
    proxy.stall();
    expect(isUnavailable(await failureOf(() => database.ask('select 1')))).toBe(true);
    proxy.restore();
    await works();
  });
});

describe('a session', () => {
  itOnce('does not go back to the pool in an open transaction', async () => {
    const [first] = await database.ask<{ pid: number }>('select pg_backend_pid() as pid');
    await database.ask('begin');
    const [second] = await database.ask<{ pid: number }>('select pg_backend_pid() as pid');
    expect(second?.pid).not.toBe(first?.pid);
  });

  itOnce('whose prepared statements or settings a pooler has discarded still serves its role', async () => {
    await works();
    const [before] = await database.ask<{ pid: number }>('select pg_backend_pid() as pid');
    await database.ask('discard all');
    await works();
    const [after] = await database.ask<{ pid: number; role: string }>(
      'select pg_backend_pid() as pid, current_user::text as role',
    );
    expect(after?.role).toBe('drivebook_app');
    expect(after?.pid).not.toBe(before?.pid);
  });

  itOnce('answers every request after views were replaced', async () => {
    const owner = new pg.Client({ connectionString: app.url });
    await owner.connect();
    await owner.query('create view changing as select 1 as a; grant select on changing to drivebook_app');
    const read = () =>
      inScope(scope, () =>
        database.reading((statements) => statements.$queryRawUnsafe('select * from changing')),
      );
    expect(await read()).toEqual([{ a: 1 }]);
    await owner.query('create or replace view changing as select 1 as a, 2 as b');
    await owner.end();
    const first = await read().catch((error: unknown) => error);
    expect(first instanceof Error ? isUnavailable(first) : first).toEqual(
      first instanceof Error ? true : [{ a: 1, b: 2 }],
    );
    expect(await read()).toEqual([{ a: 1, b: 2 }]);
  });
});
