import pg from 'pg';

/** What PostgreSQL said of a failed statement, wherever Prisma puts it. */
export interface SqlError {
  /** SQLSTATE; DB001 to DB003 are rules of our own schema */
  state: string;
  message: string;
}

interface Cause {
  kind?: unknown;
  originalCode?: unknown;
  originalMessage?: unknown;
}

interface Failure {
  code?: unknown;
  meta?: { driverAdapterError?: { cause?: Cause } };
  cause?: Cause;
}

const causeOf = (error: unknown): Cause => {
  const { meta, cause } = error as Failure;
  return meta?.driverAdapterError?.cause ?? cause ?? {};
};

export const sqlErrorOf = (error: unknown): SqlError | undefined => {
  if (error instanceof pg.DatabaseError && error.code) return { state: error.code, message: error.message };
  const { originalCode, originalMessage } = causeOf(error);
  return typeof originalCode === 'string'
    ? { state: originalCode, message: String(originalMessage) }
    : undefined;
};

/** Classes of SQLSTATE: the connection broke, resources ran out, an operator stepped in, the transaction lost a race or
 * waited too long for a lock. */
const AWAY_STATE = /^(08|53|57|40|55P03)/;
const AWAY_KIND = ['DatabaseNotReachable', 'ConnectionClosed', 'SocketTimeout', 'TooManyConnections'];
/** Prisma's own: no server, no connection in time, a transaction that waited too long. */
const AWAY_CODE = ['P1001', 'P1002', 'P1008', 'P1017', 'P2024', 'P2028'];
/** The driver's own: no server, no connection in time, a connection that broke. */
const AWAY_NETWORK = ['ECONNREFUSED', 'ECONNRESET', 'ENOTFOUND', 'EPIPE', 'ETIMEDOUT', 'EHOSTUNREACH'];
const AWAY_WORDS =
  /^(Connection terminated|timeout exceeded when trying to connect|Client has encountered a connection error)/;

/** The database could not answer; nothing was written, and the same may go through later. */
export const isAway = (error: unknown): boolean =>
  AWAY_STATE.test(sqlStateOf(error) ?? '') ||
  AWAY_KIND.includes(String(causeOf(error).kind)) ||
  [...AWAY_CODE, ...AWAY_NETWORK].includes(String((error as Failure).code)) ||
  AWAY_WORDS.test(String((error as Error).message));

export const sqlStateOf = (error: unknown): string | undefined => sqlErrorOf(error)?.state;

/** A unique or exclusion constraint met a row that stands already. */
export const isCollision = (error: unknown): boolean => ['23505', '23P01'].includes(sqlStateOf(error) ?? '');
