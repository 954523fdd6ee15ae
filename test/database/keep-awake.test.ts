import { setTimeout as sleep } from 'node:timers/promises';
import { Database } from '../../src/common/database/database.js';
import { keepAwake } from '../../src/common/database/keep-awake.js';
import { inScope } from '../../src/common/database/scope.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

const SCOPE = { projectId: 1, project: 'P1', actor: 'test', credential: 'test' };

let empty: TestDatabase;
let database: Database;

beforeAll(async () => {
  empty = await freshDatabase();
  database = new Database(empty.url, 2);
});

afterAll(async () => {
  await database.close();
  await empty.drop();
});

/** Work that takes more than twice as long as a transaction may be idle. */
const waiting = (pingMs: number): Promise<string> =>
  inScope(SCOPE, () =>
    database.atomic(async (transaction) => {
      await transaction.$executeRawUnsafe(`set local idle_in_transaction_session_timeout = '2s'`);
      const done = await keepAwake(
        transaction,
        sleep(5000).then(() => 'done'),
        pingMs,
      );
      await transaction.$executeRawUnsafe('select 1');
      return done;
    }),
  );

it('a transaction outlives the work outside the database that it waits for', async () => {
  await expect(waiting(100)).resolves.toBe('done');
});

it('would be ended without a sign of life', async () => {
  await expect(waiting(60_000)).rejects.toThrow();
});

it('a failure of the work is passed on', async () => {
  const failing = inScope(SCOPE, () =>
    database.atomic((transaction) => keepAwake(transaction, Promise.reject(new Error('not read')))),
  );
  await expect(failing).rejects.toThrow('not read');
});
