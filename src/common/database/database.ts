import { createHash } from 'node:crypto';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';
import { Prisma, PrismaClient } from '../../generated/prisma/client.js';
import type { Gate } from './gate.js';
import { HalfOpenWatch } from './half-open.js';
import { JsonRows } from './json-rows.js';
import { faulty } from '../api/problem.js';
import { type Scope, scope } from './scope.js';
import { ServiceClient } from './service-client.js';
import { openSession, SET_GROUND, type StatementLimits } from './session.js';
import { isBroken, isPassing } from './sql-error.js';

/** What a query can be sent through: a reading, or a transaction that writes. */
export type Statements = Pick<Prisma.TransactionClient, '$queryRawUnsafe'>;

export type Transaction = Prisma.TransactionClient;

/** Sends a statement of a transaction in bulk. */
export type Send = (sql: string, ...values: unknown[]) => Promise<pg.QueryResult>;

const TRIES = 3;

/**
 * The rows of a query as JSON, built by PostgreSQL: one statement, no mapping. Exact numbers are to be cast to text
 * by the query. Parameters are $1, $2, …
 */
export const readJson = async <T>(
  statements: Statements,
  sql: string,
  ...parameters: unknown[]
): Promise<JsonRows<T>> => {
  const [row] = await statements.$queryRawUnsafe<{ json: string }[]>(
    `select coalesce(json_agg(t), '[]')::text as json from (${sql}) t`,
    ...parameters,
  );
  return new JsonRows<T>(row?.json ?? '[]');
};

/** The same, read. */
export const readRows = async <T>(
  statements: Statements,
  sql: string,
  ...parameters: unknown[]
): Promise<T[]> => (await readJson<T>(statements, sql, ...parameters)).rows();

/** The statements are few and fixed: each is planned once a connection, under a name made of its text. */
const statementName = ({ sql }: { sql: string }): string =>
  `s${createHash('sha1').update(sql).digest('base64url')}`;

const sender =
  (client: pg.PoolClient): Send =>
  (sql, ...values) =>
    client.query({ name: statementName({ sql }), text: sql, values });

/** The limit of a statement of a reading, by its class. [ms] */
const readingTimeoutMs = (limits: StatementLimits, { asOf, load }: Scope): number => {
  if (asOf) return limits.asOfTimeoutMs;
  const { statementTimeoutMs, lightTimeoutMs } = limits;
  return load && load.cost > 0 ? statementTimeoutMs : Math.min(lightTimeoutMs, statementTimeoutMs);
};

/** How long a request waits for a connection. [ms] */
const CONNECTION_TIMEOUT_MS = 10_000;

/** How long statements may take once the pool closes. [ms] */
const CLOSE_MS = 1000;

const ENTER = `select ${SET_GROUND}, set_config('drivebook.project', $1, true), set_config('drivebook.actor', $2, true),
  set_config('drivebook.credential', $3, true), set_config('drivebook.reason', $4, true), set_config('drivebook.request', $5, true)`;

const settingsOf = ({ projectId, actor, credential, reason = '', requestId = '' }: Scope): string[] => [
  String(projectId),
  actor,
  credential,
  reason,
  requestId,
];

/** Thrown to take back what a dry run wrote. */
const TAKEN_BACK = new Error('dry run');

/**
 * Tries again what PostgreSQL asks to be tried again, and once what found its connection broken before anything was done:
 * connections that broke while they were idle come to light that way.
 */
const patiently = async <T>(transact: (begun: () => void) => Promise<T>): Promise<T> => {
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

/** Names then mean the tables and figures as they stood; the record itself is out of reach. */
const AS_OF_PATH = `set_config('search_path', 'report_as_of, as_of, public', true)`;

/** Whether a moment has not been yet: by the clock that the history's moments are of, whatever the service's says. */
const isAhead = (instant: string): string =>
  `${pg.escapeLiteral(instant)}::timestamptz > clock_timestamp() as ahead`;

/** Opens a reading in its scope, in one message. A present reading sees one state, however many statements it sends. */
const opening = (current: Scope, limits?: StatementLimits): string => {
  const { projectId, asOf } = current;
  const limit = limits && `, set_config('statement_timeout', '${readingTimeoutMs(limits, current)}', true)`;
  const enter = `${SET_GROUND}, set_config('drivebook.project', '${Number(projectId)}', true)${limit ?? ''}`;
  if (!asOf) return `begin isolation level repeatable read read only; select ${enter}`;
  const stand =
    'change' in asOf
      ? `set_config('drivebook.as_of_change', '${Number(asOf.change)}', true)`
      : `history.stand_at(${Number(projectId)}, ${pg.escapeLiteral(asOf.instant)}), ${isAhead(asOf.instant)}`;
  return `begin read only; select ${enter}, ${AS_OF_PATH}; select ${stand}`;
};

/** @throws ProblemError invalid when the opening of a reading found that its moment has not been */
const holdPast = ({ asOf }: Scope, opened: pg.QueryResult<object>[]): void => {
  if (!asOf || 'change' in asOf) return;
  if (!opened.some(({ rows: [row] }) => row && 'ahead' in row && row.ahead === true)) return;
  const detail = `asOf must not lie in the future: it is ${asOf.instant}`;
  throw faulty('invalid', [{ in: asOf.in, pointer: '/asOf', value: asOf.instant, detail }]);
};

/** The one pool of connections; sessions keep UTC, and every statement has a scope. */
@Injectable()
export class Database implements OnApplicationShutdown {
  private readonly pool: pg.Pool;
  private readonly prisma: PrismaClient;
  private readonly watch: HalfOpenWatch;

  /** Without limits a statement may take as long as it needs, without a gate nobody waits for others: for commands. */
  constructor(
    url: string,
    poolSize: number,
    private readonly limits?: StatementLimits,
    private readonly gate?: Gate,
  ) {
    this.watch = new HalfOpenWatch(url, limits && Math.max(limits.statementTimeoutMs, limits.asOfTimeoutMs));
    this.pool = new pg.Pool({
      connectionString: url,
      max: poolSize,
      Client: ServiceClient,
      connectionTimeoutMillis: CONNECTION_TIMEOUT_MS,
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
      adapter: new PrismaPg(this.pool, { statementNameGenerator: statementName }),
      transactionOptions: { maxWait: CONNECTION_TIMEOUT_MS, timeout: 60_000 },
    });
  }

  /** Rows of one query within the scope. */
  read<T>(sql: string, ...parameters: unknown[]): Promise<T[]> {
    return this.reading((statements) => readRows<T>(statements, sql, ...parameters));
  }

  /**
   * Runs queries within the scope, all on one state of the record.
   * @param first  a query without parameters that goes with the message that opens the reading; the work is given its rows
   */
  reading<T>(work: (statements: Statements, rows: object[]) => Promise<T>, first = ''): Promise<T> {
    const current = scope();
    const begin = opening(current, this.limits);
    const readOn = async (client: pg.PoolClient, begun: () => void): Promise<T> => {
      const opened = (await client.query(`${begin}; ${first}`)) as unknown as pg.QueryResult<object>[];
      begun();
      holdPast(current, opened);
      return work(
        {
          $queryRawUnsafe: (async (sql: string, ...values: unknown[]) =>
            (await sender(client)(sql, ...values)).rows) as Statements['$queryRawUnsafe'],
        },
        first === '' ? [] : (opened.at(-1)?.rows ?? []),
      );
    };
    const read = (begun: () => void) => async (client: pg.PoolClient) => {
      const unwatch = this.gate?.watch(client, current.load?.gone);
      try {
        return await readOn(client, begun);
      } finally {
        await unwatch?.();
      }
    };
    return this.inTurn((begun) => this.connected(read(begun), 'commit'));
  }

  /** Runs the work in one transaction within the scope, whole or not at all; tries again when PostgreSQL asks for it. */
  async atomic<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    const entering = settingsOf(scope());
    return this.inTurn((begun) =>
      this.prisma.$transaction(async (transaction) => {
        await transaction.$queryRawUnsafe(ENTER, ...entering);
        begun();
        const result = await work(transaction);
        await transaction.$executeRawUnsafe('set constraints all immediate'); // fail here, where the error can be read
        return result;
      }),
    );
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
    throw new Error('a dry run was not taken back');
  }

  /** The same for rows in bulk: statements go to PostgreSQL as they are, arrays as arrays. */
  async bulk<T>(work: (send: Send) => Promise<T>): Promise<T> {
    const entering = settingsOf(scope());
    return this.inTurn((begun) =>
      this.connected(async (client) => {
        const send = sender(client);
        await client.query('begin');
        await send(ENTER, ...entering);
        begun();
        const result = await work(send);
        await client.query('commit');
        return result;
      }),
    );
  }

  /** Connections: lent, idle, and asked for while there was none. */
  get connections(): { inUse: number; idle: number; waiting: number } {
    const { totalCount, idleCount, waitingCount } = this.pool;
    return { inUse: totalCount - idleCount, idle: idleCount, waiting: waitingCount };
  }

  /** Does the work of the scope when it is its turn, and again as `patiently` does. */
  private inTurn<T>(transact: (begun: () => void) => Promise<T>): Promise<T> {
    return this.gate ? this.gate.through(scope(), () => patiently(transact)) : patiently(transact);
  }

  /** @throws Error in one sentence when the database is not there, or does not hold the service to its role and scope */
  async prove(): Promise<void> {
    await this.ask('select 1');
  }

  /** Rows of a query that needs no scope, of a function that says itself what it shows; it may be asked twice. */
  async ask<T extends object>(sql: string, values: unknown[] = []): Promise<T[]> {
    return patiently(() =>
      this.connected(async (client) => (await sender(client)(sql, ...values)).rows as T[]),
    );
  }

  /** The database's time: keys, history and moments asked of go by this one clock. */
  async now(): Promise<Date> {
    const [row] = await this.ask<{ now: Date }>('select clock_timestamp() as now');
    if (!row) throw new Error('PostgreSQL did not say the time');
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
