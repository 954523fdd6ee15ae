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

/** What a query can be sent through: a reading, or a transaction that writes. */
export type Statements = Pick<Prisma.TransactionClient, '$queryRawUnsafe'>;

export type Transaction = Prisma.TransactionClient;

const TRIES = 3;

/**
 * The rows of a query as JSON, built by PostgreSQL: one statement, no mapping. Exact numbers are to be cast to text
 * by the query. Parameters are $1, $2, …
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

/** The same, read. */
export const readRows = async <T>(
  statements: Statements,
  query: Query<T>,
  ...parameters: unknown[]
): Promise<T[]> => (await readJson<T>(statements, query, ...parameters)).rowsInTurns();

/** The same of a connection, without Prisma. */
export const statementsOf = (send: Send): Statements => ({
  $queryRawUnsafe: (async (sql: string, ...values: unknown[]) =>
    (await send(sql, ...values)).rows) as Statements['$queryRawUnsafe'],
});

/** How long a command waits for a connection. [ms] */
const CONNECTION_TIMEOUT_MS = 10_000;

/** How long a transaction by Prisma may take at least. [ms] */
const TRANSACTION_MS = 60_000;

/** How long statements may take once the pool closes. [ms] */
const CLOSE_MS = 1000;

/** Thrown to take back what a dry run wrote. */
const TAKEN_BACK = new Error('dry run');

/**
 * Tries again what PostgreSQL asks to be tried again, and once what found its connection broken before anything was done:
 * connections that broke while they were idle come to light that way.
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

/** The one pool of connections; sessions keep UTC, and every statement has a scope. */
@Injectable()
export class Database implements OnApplicationShutdown {
  private readonly pool: pg.Pool;
  private readonly prisma: PrismaClient;
  private readonly watch: HalfOpenWatch;
  private readonly lender: Lender;

  /** Without limits a statement may take as long as it needs, without a gate nobody waits for others: for commands. */
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
      pipeline: true, // what need not wait for an answer is sent right behind
      connectionTimeoutMillis: limits?.queueTimeoutMs ?? CONNECTION_TIMEOUT_MS,
      verify: (client, done) => {
        const named = this.watch.watch(client as unknown as ServiceClient);
        openSession(client, limits).then((backend) => {
          named(backend);
          done();
        }, done);
      },
    });
    this.pool.on('error', () => undefined); // an idle connection that breaks is replaced by the next query's
    this.pool.on('release', (_, client) => {
      if ((client as unknown as ServiceClient).isSpoilt) void client.end(); // the pool then makes another in its place
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
   * @param first  a query without parameters that goes with the message that opens the reading; the work is given its rows
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

  /** Does work that reads in one transaction for all of it, whatever the number of projects. @param load  of all of it */
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
   * What COPY writes, in its binary form, of a query within the scope, as part of its readings. Nothing else is read until the
   * stream has ended or is destroyed, which ends its connection.
   * @param query  SQL with its values in it
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

  /** Failures of statements that do not end the transaction they are of. */
  private async counted<T>(sent: Promise<T>): Promise<T> {
    try {
      return await sent;
    } catch (error) {
      this.gate?.count(error);
      throw error;
    }
  }

  /** Lends a connection for reading, when it is the turn of the scope; its statement is cancelled when the sender has gone. */
  private lent<T>(
    current: Scope,
    work: (client: pg.PoolClient, begun: () => void) => Promise<T>,
  ): Promise<T> {
    return this.inTurn(current, (begun) =>
      this.connected(
        this.watched(current, (client) => work(client, begun)),
        'commit',
      ),
    );
  }

  /** The work, with its statement cancelled when the sender has gone. */
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
   * Runs the work in one transaction within the scope, whole or not at all; tries again when PostgreSQL asks for it.
   * @throws OutcomeUnknown when the connection breaks after COMMIT was sent
   */
  atomic<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    return this.write(async (client) => {
      const result = await lend(client, () => this.prisma.$transaction(work));
      return () => Promise.resolve(result);
    });
  }

  /** The same; a dry run meets every rule of the database too, and what it wrote is taken back. */
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
   * The same for rows of the project as a whole: its writers follow each other by its history before any of them locks a row, as
   * a write with a condition does. Rows of a drive go by the drive's row first.
   */
  ofProject<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    return this.atomic(async (transaction) => {
      await transaction.$queryRawUnsafe(HOLD_HISTORY);
      return work(transaction);
    });
  }

  /** The same for rows in bulk: statements go to PostgreSQL as they are, arrays as arrays. */
  bulk<T>(work: (send: Send) => Promise<T>): Promise<T> {
    return this.pipelined(async (send) => {
      const result = await work(send);
      return () => Promise.resolve(result);
    });
  }

  /** The same for what is only kept to be found again, in its own transaction: it is cancelled, its commit too, when the scope's caller has gone. */
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

  /** The same for work that knows its last statements: they travel with the commit, so that no lock waits for a journey. */
  pipelined<T>(work: (send: Send) => Promise<() => Promise<T>>): Promise<T> {
    return this.write((client) => work(sender(client)));
  }

  /**
   * Holds one transaction open for all that the work reads and writes through here: it stands or falls together, with
   * the last statements of the work. Tried again whole.
   */
  held<T>(work: (send: Send) => Promise<() => Promise<T>>): Promise<T> {
    const current = scope();
    return this.write((client) => HeldTransaction.over(client, () => work(sender(client)), current));
  }

  /**
   * Does work that reads, all of it on the state that another session has exported (`pg_export_snapshot`), one reading after the
   * other.
   */
  onSnapshot<T>(snapshot: string, work: () => Promise<T>): Promise<T> {
    return this.connected(async (client) => {
      await client.query(`${BEGIN_READING.present}; set transaction snapshot ${pg.escapeLiteral(snapshot)}`);
      return HeldTransaction.over(client, work);
    }, 'commit');
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

  /** Connections: lent, idle, and asked for while there was none. */
  get connections(): { inUse: number; idle: number; waiting: number } {
    const { totalCount, idleCount, waitingCount } = this.pool;
    return { inUse: totalCount - idleCount, idle: idleCount, waiting: waitingCount };
  }

  /** Does the work of the scope when it is its turn, and again as `withRetry` does. */
  private inTurn<T>(current: Scope, transact: (begun: () => void) => Promise<T>): Promise<T> {
    return this.gate ? this.gate.through(current, () => withRetry(transact)) : withRetry(transact);
  }

  /** @throws Error in one sentence when the database is not there, or does not hold the service to its role and scope */
  async prove(): Promise<void> {
    await this.ask('select 1');
  }

  /** Rows of a query that needs no scope, of a function that says itself what it shows; it may be asked twice. */
  async ask<T extends object>(sql: string, values: unknown[] = []): Promise<T[]> {
    const answered = async (client: pg.PoolClient): Promise<T[]> =>
      (await sender(client)(sql, ...values)).rows as T[];
    return heldTransaction()?.read(answered) ?? withRetry(() => this.connected(answered));
  }

  /** The database's time: keys, history and moments asked of go by this one clock. */
  async now(): Promise<Date> {
    const [row] = await this.ask<{ now: Date }>('select clock_timestamp() as now');
    if (!row) throw new Error('PostgreSQL did not return the time');
    return row.now;
  }

  /** Statements under way have a moment to end; then their connections are destroyed. No COMMIT that was sent is cancelled by that. */
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
   * Lends a connection. One whose work failed is rolled back, or let go when that fails too.
   * @param last  ends what the work has begun; nobody waits for it, as it has written nothing
   */
  private async connected<T>(work: (client: pg.PoolClient) => Promise<T>, last?: 'commit'): Promise<T> {
    const client = await this.pool.connect();
    const end = (sql: string): Promise<void> =>
      client.query(sql).then(
        () => client.release(),
        () => client.release(true),
      );
    try {
      const result = await work(client);
      if (last) void end(last);
      else client.release();
      return result;
    } catch (error) {
      await end('rollback');
      throw error;
    }
  }
}
