import type { Readable } from 'node:stream';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import pg from 'pg';
import { Prisma, PrismaClient } from '../../generated/prisma/client.js';
import { COPY_SETTINGS, copyOut } from './copy-out.js';
import type { Gate } from './gate.js';
import { HalfOpenWatch } from './half-open.js';
import { HOLD_HISTORY } from './history-lock.js';
import { JsonRows } from './json-rows.js';
import { lend, LentPool } from './lent-pool.js';
import { PrismaPgByOffset } from './moments.js';
import { type Query, sqlOf } from './reading.js';
import { assertPast, BEGIN_READING, readingTimeoutMs, settingReading } from './reading-settings.js';
import { type Load, type Scope, scope } from './scope.js';
import { ServiceClient } from './service-client.js';
import { openSession, type StatementLimits } from './session.js';
import { type Lender, SharedReading } from './shared-reading.js';
import { isBroken, isPassing } from './sql-error.js';
import {
  HeldTransaction,
  heldTransaction,
  type Send,
  sender,
  statementName,
  transact,
  type Work,
} from './transaction.js';

export type { Send } from './transaction.js';

/** What can run a query: a reading, or a transaction that writes. */
export type Statements = Pick<Prisma.TransactionClient, '$queryRawUnsafe'>;

export type Transaction = Prisma.TransactionClient;

const TRIES = 3;

/**
 * The rows of a query as JSON, built by PostgreSQL: one statement, no mapping. The query must cast exact numbers to text.
 * Parameters are $1, $2, …
 */
export const readJson = async <T>(
  statements: Statements,
  query: Query<T>,
  ...parameters: unknown[]
): Promise<JsonRows<T>> => {
  const [row] = await statements.$queryRawUnsafe<{ json: string }[]>(
    `select coalesce(json_agg(t), '[]')::text as json from (${sqlOf(query)}) t`,
    ...parameters,
  );
  return new JsonRows<T>(row?.json ?? '[]');
};

/** The same, parsed. */
export const readRows = async <T>(
  statements: Statements,
  query: Query<T>,
  ...parameters: unknown[]
): Promise<T[]> => (await readJson<T>(statements, query, ...parameters)).rowsInTurns();

/** The same for a plain connection, without Prisma. */
export const statementsOf = (send: Send): Statements => ({
  $queryRawUnsafe: (async (sql: string, ...values: unknown[]) =>
    (await send(sql, ...values)).rows) as Statements['$queryRawUnsafe'],
});

/** How long a command waits for a connection. [ms] */
const CONNECTION_TIMEOUT_MS = 10_000;

/** Minimum time limit of a transaction by Prisma. [ms] */
const TRANSACTION_MS = 60_000;

/** Time for statements to finish when the pool closes. [ms] */
const CLOSE_MS = 1000;

const commit = (client: pg.PoolClient): Promise<unknown> => client.query('commit');

/** Thrown to roll back what a dry run wrote. */
const TAKEN_BACK = new Error('dry run');

/**
 * Retries when PostgreSQL asks for it, and once when the connection was found broken before anything was done: connections that
 * broke while idle are only noticed then.
 */
const withRetry = async <T>(transact: (begun: () => void) => Promise<T>): Promise<T> => {
  let isBegun = false;
  let reconnected = false;
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await transact(() => (isBegun = true));
    } catch (error) {
      const reconnects: boolean = !isBegun && !reconnected && isBroken(error);
      if (!reconnects && (attempt === TRIES || !isPassing(error))) throw error;
      reconnected ||= reconnects;
    }
  }
};

/** The only connection pool; sessions use UTC, and every statement has a scope. */
@Injectable()
export class Database implements OnApplicationShutdown {
  private readonly pool: pg.Pool;
  private readonly prisma: PrismaClient;
  private readonly watch: HalfOpenWatch;
  private readonly lender: Lender;

  /** Without limits a statement may take as long as it needs, and without a gate nothing queues: for commands. */
  constructor(
    url: string,
    poolSize: number,
    private readonly limits?: StatementLimits,
    private readonly gate?: Gate,
  ) {
    this.lender = { limits, lend: (current, serve) => this.lent<void>(current, serve) };
    this.watch = new HalfOpenWatch(url, limits && Math.max(limits.statementTimeoutMs, limits.asOfTimeoutMs));
    this.pool = new pg.Pool({
      connectionString: url,
      max: poolSize,
      Client: ServiceClient,
      pipeline: true, // statements that need no earlier answer are sent at once
      connectionTimeoutMillis: limits?.queueTimeoutMs ?? CONNECTION_TIMEOUT_MS,
      verify: (client, done) => {
        const named = this.watch.watch(client as unknown as ServiceClient);
        openSession(client, limits).then((backend) => {
          named(backend);
          done();
        }, done);
      },
    });
    this.pool.on('error', () => undefined); // a broken idle connection is replaced at the next query
    this.pool.on('release', (_, client) => {
      if ((client as unknown as ServiceClient).isSpoilt) void client.end(); // the pool then replaces it
    });
    this.prisma = new PrismaClient({
      adapter: new PrismaPgByOffset(new LentPool(), { statementNameGenerator: statementName }),
      transactionOptions: {
        maxWait: CONNECTION_TIMEOUT_MS,
        timeout: Math.max(TRANSACTION_MS, 2 * (limits?.statementTimeoutMs ?? 0)),
      },
    });
  }

  /** Rows of one query within the scope. */
  read<T>(query: Query<T>, ...parameters: unknown[]): Promise<T[]> {
    return this.reading((statements) => readRows<T>(statements, query, ...parameters));
  }

  /**
   * Runs queries within the scope, all on one state of the record.
   * @param first  a query without parameters sent with the message that opens the reading; its rows are passed to the work
   */
  reading<T>(work: (statements: Statements, rows: object[]) => Promise<T>, first = ''): Promise<T> {
    const current = scope();
    const read = async (client: pg.PoolClient, begin: string, begun?: () => void): Promise<T> => {
      const opening = `${begin}${settingReading(current, this.limits)}; ${first}`;
      const opened = (await client.query(opening)) as unknown as pg.QueryResult<object>[];
      begun?.();
      assertPast(current, opened);
      return work(statementsOf(sender(client)), first === '' ? [] : (opened.at(-1)?.rows ?? []));
    };
    const held = heldTransaction();
    if (held) return held.read((client) => read(client, ''));
    if (current.readings) return this.readShared(current, current.readings, work, first);
    const begin = BEGIN_READING[current.asOf ? 'asOf' : 'present'];
    return this.lent(current, (client, begun) => read(client, `${begin}; `, begun));
  }

  /**
   * One query within the scope, sent in one message with the opening and the end of its reading: one round trip instead of two.
   * It is composed for an expected row of `first`.
   * @param first  a query without parameters, answered first
   * @param isExpected  whether that is the row for which the query was composed
   * @returns undefined if it is not, or where the scope's readings share a transaction: ask by `reading`
   */
  async readAtOnce<T>(
    query: Query<T>,
    parameters: unknown[],
    first: string,
    isExpected: (row: object | undefined) => boolean,
  ): Promise<JsonRows<T> | undefined> {
    const current = scope();
    if (heldTransaction() ?? current.readings) return undefined;
    const begin = BEGIN_READING[current.asOf ? 'asOf' : 'present'];
    const opening = `${begin}; ${settingReading(current, this.limits)}; ${first}`;
    return this.inTurn(current, (begun) => {
      let committed: Promise<unknown> | undefined;
      const read = async (client: pg.PoolClient): Promise<JsonRows<T> | undefined> => {
        const [opened, found] = (client as unknown as ServiceClient).inOneMessage(() => {
          const sent = [client.query(opening), readJson(statementsOf(sender(client)), query, ...parameters)];
          committed = client.query('commit');
          return sent as [Promise<unknown>, Promise<JsonRows<T>>];
        });
        for (const each of [found, committed]) each?.catch(() => undefined); // reported below
        const results = (await opened) as pg.QueryResult<object>[];
        begun();
        assertPast(current, results);
        return isExpected(results.at(-1)?.rows[0]) ? found : undefined;
      };
      return this.connected(this.watched(current, read), () => committed);
    });
  }

  /** Runs work whose readings all share one transaction, whatever the number of projects. @param load  of the whole work */
  async together<T>(work: (readings: SharedReading) => Promise<T>, load?: Load): Promise<T> {
    const readings = new SharedReading(load);
    try {
      return await work(readings);
    } finally {
      await readings.end();
    }
  }

  private async readShared<T>(
    current: Scope,
    readings: SharedReading,
    work: (statements: Statements, rows: object[]) => Promise<T>,
    first: string,
  ): Promise<T> {
    const send: Send = (sql, ...values) => this.counted(readings.send(this.lender, current, sql, values));
    const opened =
      first === '' ? undefined : await this.counted(readings.sendOnce(this.lender, current, first));
    return work(statementsOf(send), (opened?.rows ?? []) as object[]);
  }

  /**
   * The binary COPY output of a query within the scope, as part of its readings. Nothing else is read until the stream has ended
   * or is destroyed, which ends its connection.
   * @param query  SQL with its values inlined
   */
  copied(query: string): Promise<Readable> {
    const current = scope();
    const { readings } = current;
    if (!readings) throw new Error('COPY is part of readings that are held together');
    return new Promise((resolve, reject) => {
      const run = async (client: pg.PoolClient): Promise<pg.QueryResult> => {
        const lost = (): void => void this.gate?.cancel(client);
        const patience = this.limits && { limitMs: readingTimeoutMs(this.limits, current), lost };
        const set = await client.query(COPY_SETTINGS);
        const { copy, ended } = copyOut(client as unknown as ServiceClient, query, patience);
        resolve(copy);
        await ended;
        return set;
      };
      this.counted(readings.send(this.lender, current, query, [], run)).catch(reject);
    });
  }

  /** Counts failures of statements that do not end their transaction. */
  private async counted<T>(sent: Promise<T>): Promise<T> {
    try {
      return await sent;
    } catch (error) {
      this.gate?.count(error);
      throw error;
    }
  }

  /** Lends a connection for reading when the scope's turn comes; the statement is cancelled when the sender disconnects. */
  private lent<T>(
    current: Scope,
    work: (client: pg.PoolClient, begun: () => void) => Promise<T>,
  ): Promise<T> {
    return this.inTurn(current, (begun) =>
      this.connected(
        this.watched(current, (client) => work(client, begun)),
        commit,
      ),
    );
  }

  /** Runs the work and cancels its statement when the sender disconnects. */
  private watched<T>(
    current: Scope,
    work: (client: pg.PoolClient) => Promise<T>,
  ): (client: pg.PoolClient) => Promise<T> {
    return async (client) => {
      const unwatch = this.gate?.watch(client, current.load?.gone);
      try {
        return await work(client);
      } finally {
        await unwatch?.();
      }
    };
  }

  /**
   * Runs the work in one transaction within the scope, all or nothing; retries when PostgreSQL asks for it.
   * @throws OutcomeUnknown when the connection breaks after COMMIT was sent
   */
  atomic<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    return this.write(async (client) => {
      const result = await lend(client, () => this.prisma.$transaction(work));
      return () => Promise.resolve(result);
    });
  }

  /** The same; a dry run is checked by every rule of the database too, and is then rolled back. */
  async atomicUnlessDry<T>(dryRun: boolean, work: (transaction: Transaction) => Promise<T>): Promise<T> {
    if (!dryRun) return this.atomic(work);
    let tried: { result: T } | undefined;
    try {
      await this.atomic(async (transaction) => {
        tried = { result: await work(transaction) };
        await transaction.$executeRawUnsafe('set constraints all immediate');
        throw TAKEN_BACK;
      });
    } catch (error) {
      if (error !== TAKEN_BACK || !tried) throw error;
      return tried.result;
    }
    throw new Error('a dry run was not rolled back');
  }

  /**
   * The same for rows of the project as a whole: before locking any row, writers queue at the project's history, as a conditional
   * write does. Rows of a drive use the drive's row first.
   */
  ofProject<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    return this.atomic(async (transaction) => {
      await transaction.$queryRawUnsafe(HOLD_HISTORY);
      return work(transaction);
    });
  }

  /** The same for rows in bulk: statements are sent to PostgreSQL directly, with arrays as arrays. */
  bulk<T>(work: (send: Send) => Promise<T>): Promise<T> {
    return this.pipelined(async (send) => {
      const result = await work(send);
      return () => Promise.resolve(result);
    });
  }

  /** The same for rows that are only a cache, in a separate transaction: it is cancelled, even its commit, when the scope's caller disconnects. */
  keeping<T>(work: (send: Send) => Promise<T>): Promise<T> {
    const current = scope();
    const kept = async (client: pg.PoolClient): Promise<() => Promise<T>> => {
      const result = await work(sender(client));
      return () => Promise.resolve(result);
    };
    return this.inTurn(current, (begun) =>
      this.connected(this.watched(current, (client) => transact(client, current, kept, begun))),
    );
  }

  /** The same for work that knows its last statements: they are sent together with the commit, so that no lock is held during a round trip. */
  pipelined<T>(work: (send: Send) => Promise<() => Promise<T>>): Promise<T> {
    return this.write((client) => work(sender(client)));
  }

  /**
   * Holds one transaction open for everything that the work reads and writes through this class, with the work's last statements:
   * all or nothing. Retried as a whole.
   */
  held<T>(work: (send: Send) => Promise<() => Promise<T>>): Promise<T> {
    const current = scope();
    return this.write((client) => HeldTransaction.over(client, () => work(sender(client)), current));
  }

  /**
   * Runs work that reads, all of it on the snapshot exported by another session (`pg_export_snapshot`), one reading after the
   * other.
   */
  onSnapshot<T>(snapshot: string, work: () => Promise<T>): Promise<T> {
    return this.connected(async (client) => {
      await client.query(`${BEGIN_READING.present}; set transaction snapshot ${pg.escapeLiteral(snapshot)}`);
      return HeldTransaction.over(client, work);
    }, commit);
  }

  private async write<T>(work: Work<T>): Promise<T> {
    const current = scope();
    const held = heldTransaction();
    if (held) return held.write(current, work);
    await current.readings?.pause();
    return this.inTurn(current, (begun) =>
      this.connected((client) => transact(client, current, work, begun)),
    );
  }

  /** Number of connections: lent, idle, and requested while none was free. */
  get connections(): { inUse: number; idle: number; waiting: number } {
    const { totalCount, idleCount, waitingCount } = this.pool;
    return { inUse: totalCount - idleCount, idle: idleCount, waiting: waitingCount };
  }

  /** Runs the scope's work when its turn comes, with the retries of `withRetry`. */
  private inTurn<T>(current: Scope, transact: (begun: () => void) => Promise<T>): Promise<T> {
    return this.gate ? this.gate.through(current, () => withRetry(transact)) : withRetry(transact);
  }

  /** @throws Error in one sentence when the database is unreachable, or does not confine the service to its role and scope */
  async prove(): Promise<void> {
    await this.ask('select 1');
  }

  /** Rows of a query that needs no scope, of a function that limits itself what it shows; it may run twice. */
  async ask<T extends object>(sql: string, values: unknown[] = []): Promise<T[]> {
    const answered = async (client: pg.PoolClient): Promise<T[]> =>
      (await sender(client)(sql, ...values)).rows as T[];
    return heldTransaction()?.read(answered) ?? withRetry(() => this.connected(answered));
  }

  /** The database's time: the one clock for keys, history and moments. */
  async now(): Promise<Date> {
    const [row] = await this.ask<{ now: Date }>('select clock_timestamp() as now');
    if (!row) throw new Error('PostgreSQL did not return the time');
    return row.now;
  }

  /** Statements in progress get a moment to finish; then their connections are destroyed. A COMMIT already sent is not cancelled by that. */
  async close(): Promise<void> {
    const limit = setTimeout(() => this.watch.abandon(), CLOSE_MS);
    await Promise.all([this.prisma.$disconnect(), this.pool.end()]);
    clearTimeout(limit);
    this.watch.stop();
  }

  async onApplicationShutdown(): Promise<void> {
    await this.close();
  }

  /**
   * Lends a connection. If the work fails, it is rolled back, or closed when that fails too.
   * @param ending  ends the transaction the work began; it is not awaited, because the work has written nothing
   */
  private async connected<T>(
    work: (client: pg.PoolClient) => Promise<T>,
    ending?: (client: pg.PoolClient) => Promise<unknown> | undefined,
  ): Promise<T> {
    const client = await this.pool.connect();
    const endedBy = (ended: Promise<unknown> | undefined): Promise<void> =>
      Promise.resolve(ended).then(
        () => client.release(),
        () => client.release(true),
      );
    try {
      const result = await work(client);
      if (ending) void endedBy(ending(client));
      else client.release();
      return result;
    } catch (error) {
      await endedBy(client.query('rollback'));
      throw error;
    }
  }
}
