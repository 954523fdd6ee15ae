import { createHash } from 'node:crypto';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';
import { Prisma, PrismaClient } from '../../generated/prisma/client.js';
import { JsonRows } from './json-rows.js';
import { type Scope, scope } from './scope.js';
import { sqlStateOf } from './sql-error.js';

/** What a query can be sent through: a reading, or a transaction that writes. */
export type Statements = Pick<Prisma.TransactionClient, '$queryRawUnsafe'>;

export type Transaction = Prisma.TransactionClient;

/** Sends a statement of a transaction in bulk. */
export type Send = (sql: string, ...values: unknown[]) => Promise<pg.QueryResult>;

/** Serialization failure and deadlock: the transaction was rolled back whole and may be tried again. */
const PASSING = new Set(['40001', '40P01']);
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

export interface StatementLimits {
  statementTimeoutMs: number;
  lockTimeoutMs: number;
}

/** The role that the service works as: it owns nothing and sees only what its scope lets it see. */
const APP_ROLE = 'drivebook_app';

const NO_RIGHT = '42501';

/** How long a request waits for a connection. [ms] */
const CONNECTION_TIMEOUT_MS = 10_000;

const sessionOptions = (limits?: StatementLimits): string =>
  [
    `-c role=${APP_ROLE}`,
    '-c search_path=report,public',
    '-c timezone=UTC',
    ...(limits
      ? [`-c statement_timeout=${limits.statementTimeoutMs}`, `-c lock_timeout=${limits.lockTimeoutMs}`]
      : []),
  ].join(' ');

const ENTER = `select set_config('drivebook.project', $1, true), set_config('drivebook.actor', $2, true),
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

/** Tries again what PostgreSQL asks to be tried again. */
const patiently = async <T>(transact: () => Promise<T>): Promise<T> => {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await transact();
    } catch (error) {
      if (attempt === TRIES || !PASSING.has(sqlStateOf(error) ?? '')) throw error;
    }
  }
};

/** Names then mean the tables and figures as they stood; the record itself is out of reach. */
const AS_OF_PATH = `set_config('search_path', 'report_as_of, as_of, public', true)`;

/** Opens a reading in its scope, in one message. A present reading sees one state, however many statements it sends. */
const opening = ({ projectId, asOf }: Scope): string => {
  const enter = `set_config('drivebook.project', '${Number(projectId)}', true)`;
  if (!asOf) return `begin isolation level repeatable read read only; select ${enter}`;
  const stand =
    'change' in asOf
      ? `set_config('drivebook.as_of_change', '${Number(asOf.change)}', true)`
      : `history.stand_at(${Number(projectId)}, ${pg.escapeLiteral(asOf.instant)})`;
  return `begin read only; select ${enter}, ${AS_OF_PATH}; select ${stand}`;
};

/** The one pool of connections; sessions keep UTC, and every statement has a scope. */
@Injectable()
export class Database implements OnApplicationShutdown {
  private readonly pool: pg.Pool;
  private readonly prisma: PrismaClient;

  /** Without limits a statement may take as long as it needs: for commands. */
  constructor(url: string, poolSize: number, limits?: StatementLimits) {
    this.pool = new pg.Pool({
      connectionString: url,
      max: poolSize,
      options: sessionOptions(limits),
      connectionTimeoutMillis: CONNECTION_TIMEOUT_MS,
    });
    this.pool.on('error', () => undefined); // an idle connection that breaks is replaced by the next query's
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
    const begin = opening(scope());
    return this.connected(async (client) => {
      const opened = (await client.query(`${begin}; ${first}`)) as unknown as pg.QueryResult<object>[];
      return work(
        {
          $queryRawUnsafe: (async (sql: string, ...values: unknown[]) =>
            (await sender(client)(sql, ...values)).rows) as Statements['$queryRawUnsafe'],
        },
        first === '' ? [] : (opened.at(-1)?.rows ?? []),
      );
    }, 'commit');
  }

  /** Runs the work in one transaction within the scope, whole or not at all; tries again when PostgreSQL asks for it. */
  async atomic<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    const entering = settingsOf(scope());
    return patiently(() =>
      this.prisma.$transaction(async (transaction) => {
        await transaction.$queryRawUnsafe(ENTER, ...entering);
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
    return patiently(() =>
      this.connected(async (client) => {
        const send = sender(client);
        await client.query('begin');
        await send(ENTER, ...entering);
        const result = await work(send);
        await client.query('commit');
        return result;
      }),
    );
  }

  /** @throws Error in one sentence when the user of the address may not work as the service's role */
  async prove(): Promise<void> {
    try {
      await this.ask('select 1');
    } catch (error) {
      if (sqlStateOf(error) !== NO_RIGHT) throw error;
      throw new Error(
        `The user of DATABASE_URL may not work as ${APP_ROLE}: as the owner, run "grant ${APP_ROLE} to" that user.`,
        { cause: error },
      );
    }
  }

  /** Rows of a query that needs no scope: of a function that says itself what it shows. */
  async ask<T extends object>(sql: string, values: unknown[] = []): Promise<T[]> {
    return this.connected(async (client) => (await sender(client)(sql, ...values)).rows as T[]);
  }

  async close(): Promise<void> {
    await this.prisma.$disconnect();
    await this.pool.end();
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
