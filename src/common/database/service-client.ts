import pg from 'pg';
import { isSpoiling } from './sql-error.js';

/** Time limit for opening a connection. [ms] */
export const CONNECT_MS = 5000;

/** Time limit for closing a connection; an unreachable server would never answer. [ms] */
const GOODBYE_MS = 1000;

/** First keep-alive probe of the operating system on an idle connection; ten follow, one second apart. [ms] */
const KEEP_ALIVE_MS = 5000;

/** A connection with time limits on opening, idling and closing, which may break at any moment without ending the process. */
export class ServiceClient extends pg.Client {
  private spoilt = false;

  constructor(config: pg.ClientConfig = {}) {
    super({
      ...config,
      connectionTimeoutMillis: CONNECT_MS,
      keepAlive: true,
      keepAliveInitialDelayMillis: KEEP_ALIVE_MS,
    });
    // Statements in progress fail by themselves; without a listener the event would end the process.
    this.on('error', () => undefined);
    this.connection.on('errorMessage', (message: Partial<pg.DatabaseError>) => {
      this.spoilt ||= isSpoiling(message.code, message.message);
    });
  }

  /** Whether it must not be reused: an open transaction, a lost session, a server that has changed. */
  get isSpoilt(): boolean {
    return this.spoilt || this.getTransactionStatus() !== 'I';
  }

  /** Sends a statement that may not share a pipeline: it waits for those in progress, and later ones wait for its answer. */
  alone<T>(send: () => T): T {
    const client = this as { pipeline: boolean };
    const { pipeline } = client;
    client.pipeline = false;
    try {
      return send();
    } finally {
      client.pipeline = pipeline;
    }
  }

  /** Hands the statements sent meanwhile to the operating system together. */
  inOneMessage<T>(send: () => T): T {
    const { stream } = this.connection;
    stream.cork();
    try {
      return send();
    } finally {
      stream.uncork();
    }
  }

  override end(): Promise<void>;
  override end(callback: (error: Error) => void): void;
  override end(callback?: (error: Error) => void): Promise<void> | void {
    const limit = setTimeout(() => this.connection.stream.destroy(), GOODBYE_MS);
    this.connection.once('end', () => clearTimeout(limit));
    if (!callback) return super.end().finally(() => clearTimeout(limit));
    super.end((error) => {
      clearTimeout(limit);
      callback(error);
    });
  }
}

/**
 * A failure of the connection rather than of a statement, in the form of PostgreSQL's own errors, so that it is handled like them.
 * @param state  SQLSTATE of class 08, connection exception
 */
export const connectionError = (
  state: '08004' | '08006',
  message: string,
  cause?: unknown,
): pg.DatabaseError => {
  const error = new pg.DatabaseError(message, message.length, 'error');
  error.code = state;
  error.severity = 'FATAL';
  error.cause = cause;
  return error;
};
