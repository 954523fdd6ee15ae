import { AsyncLocalStorage } from 'node:async_hooks';
import pg from 'pg';
import { parserByOffset } from './moments.js';

const lent = new AsyncLocalStorage<pg.PoolClient>();

/** Does the work with the connection of a transaction that is under way; Prisma's calls within go over it. */
export const lend = <T>(client: pg.PoolClient, work: () => T): T => lent.run(client, work);

/** Prisma frames its transactions itself; here the frame is another's, who must know when COMMIT was sent. */
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

/** The pool that Prisma is given: it has the one connection of the transaction under way. */
export class LentPool extends pg.Pool {
  override connect(): Promise<pg.PoolClient> {
    const client = lent.getStore();
    return client
      ? Promise.resolve(unframed(client))
      : Promise.reject(new Error('a model is written outside of a transaction'));
  }
}
