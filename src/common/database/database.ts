import { createHash } from 'node:crypto';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import { PrismaPg } from '@prisma/adapter-pg';
import { Prisma, PrismaClient } from '../../generated/prisma/client.js';
import { sqlStateOf } from './sql-error.js';

/** What a statement can be sent through: the pool, or one transaction of it. */
export type Statements = Pick<Prisma.TransactionClient, '$queryRawUnsafe' | '$executeRawUnsafe'>;

export type Transaction = Prisma.TransactionClient;

/** Serialization failure and deadlock: the transaction was rolled back whole and may be tried again. */
const PASSING = new Set(['40001', '40P01']);
const TRIES = 3;

/**
 * The rows of a query as JSON, built by PostgreSQL: one statement, no mapping. Exact numbers are to be cast to text
 * by the query. Parameters are $1, $2, …
 */
export const readRows = async <T>(
  statements: Statements,
  sql: string,
  ...parameters: unknown[]
): Promise<T[]> => {
  const [row] = await statements.$queryRawUnsafe<{ json: string }[]>(
    `select coalesce(json_agg(t), '[]')::text as json from (${sql}) t`,
    ...parameters,
  );
  return JSON.parse(row?.json ?? '[]') as T[];
};

/** The statements are few and fixed: each is planned once a connection, under a name made of its text. */
const statementName = ({ sql }: { sql: string }): string =>
  `s${createHash('sha1').update(sql).digest('base64url')}`;

export interface StatementLimits {
  statementTimeoutMs: number;
  lockTimeoutMs: number;
}

const sessionOptions = (limits?: StatementLimits): string =>
  [
    '-c timezone=UTC',
    ...(limits
      ? [`-c statement_timeout=${limits.statementTimeoutMs}`, `-c lock_timeout=${limits.lockTimeoutMs}`]
      : []),
  ].join(' ');

/** The one pool of connections; sessions keep UTC. */
@Injectable()
export class Database extends PrismaClient implements OnApplicationShutdown {
  /** Without limits a statement may take as long as it needs: for commands. */
  constructor(url: string, poolSize: number, limits?: StatementLimits) {
    super({
      adapter: new PrismaPg(
        { connectionString: url, max: poolSize, options: sessionOptions(limits) },
        { statementNameGenerator: statementName },
      ),
      transactionOptions: { maxWait: 10_000, timeout: 60_000 },
    });
  }

  read<T>(sql: string, ...parameters: unknown[]): Promise<T[]> {
    return readRows<T>(this, sql, ...parameters);
  }

  /** Runs the work in one transaction, whole or not at all; tries again when PostgreSQL asks for it. */
  async atomic<T>(work: (transaction: Transaction) => Promise<T>): Promise<T> {
    for (let attempt = 1; ; attempt += 1) {
      try {
        return await this.$transaction(async (transaction) => {
          const result = await work(transaction);
          await transaction.$executeRawUnsafe('set constraints all immediate'); // fail here, where the error can be read
          return result;
        });
      } catch (error) {
        if (attempt === TRIES || !PASSING.has(sqlStateOf(error) ?? '')) throw error;
      }
    }
  }

  async onApplicationShutdown(): Promise<void> {
    await this.$disconnect();
  }
}
