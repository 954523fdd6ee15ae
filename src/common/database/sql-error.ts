import pg from 'pg';

/** PostgreSQL's report of a failed statement, wherever Prisma puts it. */
export interface SqlError {
  /** SQLSTATE; DB001 to DB006 are rules of our own schema */
  state: string;
  message: string;
  detail?: string;
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
  if (error instanceof pg.DatabaseError && error.code)
    return { state: error.code, message: error.message, detail: error.detail };
  const { originalCode, originalMessage } = causeOf(error);
  return typeof originalCode === 'string'
    ? { state: originalCode, message: String(originalMessage) }
    : undefined;
};

/** Serialization failure and deadlock. */
const LOST_RACE = ['40001', '40P01'];

/** A prepared statement that the session no longer has, for instance after a pooler reset it. */
const LOST_STATEMENT = '26000';

/** A prepared statement whose tables or views were replaced by a newer build: feature_not_supported, with this message. */
const isOutdatedPlan = (state: string | undefined, message = ''): boolean =>
  state === '0A000' && message.startsWith('cached plan must not change result type');

/** A server that takes no writes, as after a failover, or is shutting down or starting. */
const OTHER_SERVER = /^(25006|57P)/;

/** After such a failure the session must not be reused, though its connection may still be open. */
export const isSpoiling = (state: string | undefined, message?: string): boolean =>
  state === LOST_STATEMENT || OTHER_SERVER.test(state ?? '') || isOutdatedPlan(state, message);

/** The transaction was rolled back as a whole, and may succeed when retried. */
export const isPassing = (error: unknown): boolean => {
  const { state, message } = sqlErrorOf(error) ?? {};
  return [...LOST_RACE, LOST_STATEMENT].includes(state ?? '') || isOutdatedPlan(state, message);
};

/**
 * SQLSTATE (PostgreSQL 18, appendix A) of temporary failures: the connection broke (08), this server takes no writes (25006),
 * the transaction was idle or ran for too long (25P03, 25P04), the session lost its statements (26000), the login or the database
 * is refused (28, 3D000), the transaction lost a race (40), resources ran out (53), an object is in use (55006), the lock timeout
 * was exceeded (55P03), an operator intervened, including shutdown and start (57), the disk failed (58), the snapshot was too old (72).
 */
const AWAY_STATE = /^(08|25006|25P03|25P04|26000|28|3D000|40|53|55006|55P03|57|58|72)/;
const AWAY_KIND = ['DatabaseNotReachable', 'ConnectionClosed', 'SocketTimeout', 'TlsConnectionError'];
/** Prisma's codes: no server, no connection in time, a transaction that waited too long. */
const AWAY_CODE = ['P1001', 'P1002', 'P1008', 'P1011', 'P1017', 'P2024', 'P2028', 'P2037'];
/** The operating system's codes: no server, no route to it, no connection in time, a broken connection. */
const AWAY_NETWORK =
  /^(ECONNREFUSED|ECONNRESET|ECONNABORTED|ENOTFOUND|EAI_AGAIN|EPIPE|ETIMEDOUT|EHOSTUNREACH|EHOSTDOWN|ENETUNREACH|ENETDOWN|EADDRNOTAVAIL|ERR_STREAM_DESTROYED)$/;
/** The driver's messages, which have no code. */
const AWAY_WORDS =
  /^(Connection terminated|timeout expired|timeout exceeded when trying to connect|Query read timeout|Client has encountered a connection error|Client was closed and is not queryable|Cannot use a pool after calling end|There was an error establishing an SSL connection|The server does not support SSL connections)/;

/** The connection broke, or the server ended it: 08006, 57P01, 57P02, 57P05, or no answer from the server. */
export const isBroken = (error: unknown): boolean =>
  /^(08006|57P01|57P02|57P05)$/.test(sqlStateOf(error) ?? '') ||
  causeOf(error).kind === 'ConnectionClosed' ||
  ['ECONNRESET', 'EPIPE'].includes(String((error as Failure).code)) ||
  /^(Connection terminated unexpectedly|Client has encountered a connection error)/.test(
    String((error as Error).message),
  );

/** The database could not answer; nothing was written, and a retry may succeed. */
export const isUnavailable = (error: unknown): boolean => {
  const { state, message } = sqlErrorOf(error) ?? {};
  const code = String((error as Failure).code);
  return (
    AWAY_STATE.test(state ?? '') ||
    isOutdatedPlan(state, message) ||
    AWAY_KIND.includes(String(causeOf(error).kind)) ||
    AWAY_CODE.includes(code) ||
    AWAY_NETWORK.test(code) ||
    AWAY_WORDS.test(String((error as Error).message))
  );
};

export const sqlStateOf = (error: unknown): string | undefined => sqlErrorOf(error)?.state;

/** A unique or exclusion constraint conflicts with an existing row. */
export const isCollision = (error: unknown): boolean => ['23505', '23P01'].includes(sqlStateOf(error) ?? '');
