import pg from 'pg';
import { isSpoiling } from './sql-error.js';

/** How long a new connection may take to be made. [ms] */
export const CONNECT_MS = 5000;

/** How long a connection that is let go may take to say goodbye; a server out of reach would never answer. [ms] */
const GOODBYE_MS = 1000;

/** First probe of the operating system on an idle connection; ten follow, a second apart. [ms] */
const KEEP_ALIVE_MS = 5000;

/** A connection whose making, idling and ending are bounded, and which may break at any moment without ending the process. */
export class ServiceClient extends pg.Client {
  private spoilt = false;

  constructor(config: pg.ClientConfig = {}) {
    super({
      ...config,
      connectionTimeoutMillis: CONNECT_MS,
      keepAlive: true,
      keepAliveInitialDelayMillis: KEEP_ALIVE_MS,
    });
    // What is under way on it fails by itself; without a listener the event would end the process.
    this.on('error', () => undefined);
    this.connection.on('errorMessage', (message: Partial<pg.DatabaseError>) => {
      this.spoilt ||= isSpoiling(message.code, message.message);
    });
  }

  /** Whether it is of no use to the next one: an open transaction, a lost session, a server that is another by now. */
  get isSpoilt(): boolean {
    return this.spoilt || this.getTransactionStatus() !== 'I';
  }

  /** Sends what may not share a pipeline: nothing may be under way, and nothing else is sent until it has been answered. */
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
 * A failure of the connection rather than of a statement, in the form of PostgreSQL's own, so that it is read and passed
 * on like them.
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
