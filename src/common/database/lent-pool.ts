import { AsyncLocalStorage } from 'node:async_hooks';
import pg from 'pg';
import { parserByOffset } from './moments.js';

const lent = new AsyncLocalStorage<pg.PoolClient>();

/** Runs the work with the connection of a transaction in progress; Prisma's calls within use that connection. */
export const lend = <T>(client: pg.PoolClient, work: () => T): T => lent.run(client, work);

/** Prisma begins and commits its transactions itself; here our own code does, because it must know when COMMIT was sent. */
const FRAME = /^(BEGIN|COMMIT|ROLLBACK)$/i;

const NOTHING = { rows: [], fields: [], rowCount: 0 };

const byOffset = (statement: pg.QueryConfig): pg.QueryConfig =>
  statement.types === undefined
    ? statement
    : {
        ...statement,
        types: { getTypeParser: parserByOffset(statement.types.getTypeParser as never) as never },
      };

const unframed = (client: pg.PoolClient): pg.PoolClient => {
  const query = (statement: pg.QueryConfig): Promise<unknown> =>
    FRAME.test(statement.text) ? Promise.resolve(NOTHING) : client.query(byOffset(statement));
  const listening = { on: client.on.bind(client), removeListener: client.removeListener.bind(client) };
  return { ...listening, query, release: () => undefined } as unknown as pg.PoolClient;
};

/** The pool given to Prisma: it contains only the connection of the transaction in progress. */
export class LentPool extends pg.Pool {
  override connect(): Promise<pg.PoolClient> {
    const client = lent.getStore();
    return client
      ? Promise.resolve(unframed(client))
      : Promise.reject(new Error('a model is written outside of a transaction'));
  }
}
