import type { Socket } from 'node:net';
import { finished } from 'node:stream/promises';
import { type CopyToStreamQuery, to as copyTo } from 'pg-copy-streams';
import type { ServiceClient } from './service-client.js';
import { sqlStateOf } from './sql-error.js';

/** Limit on waiting for data that does not arrive. */
export interface Patience {
  /** [ms] */
  limitMs: number;
  /** Called when PostgreSQL has sent nothing for that long although the reader was ready. */
  lost(): void;
}

/** A slow reader takes longer than a statement may, and pauses for longer than a connection may be idle. */
export const COPY_SETTINGS = `select set_config('statement_timeout', '0', true), set_config('tcp_user_timeout', '0', true)`;

/** Bytes taken from PostgreSQL before they are asked for. [bytes] */
const AHEAD = 128 * 1024;

/** Calls back when PostgreSQL has been silent for too long. @returns a function that stops watching */
const watchSilence = ({ connection }: ServiceClient, { limitMs, lost }: Patience): (() => void) => {
  const socket = connection.stream as Socket;
  let seen = -1;
  const timer = setInterval(() => {
    if (socket.readableLength === 0 && socket.bytesRead === seen) lost();
    seen = socket.bytesRead;
  }, limitMs).unref();
  return () => clearInterval(timer);
};

/**
 * Sends COPY (query) TO STDOUT in binary format. The connection belongs to the reader until the stream has ended. Destroying the
 * stream earlier destroys the connection: PostgreSQL accepts no cancel while it waits for its reader.
 * @param query  SQL with its values inlined
 * @returns the stream, and a promise that settles when the connection can be used again
 * @throws DatabaseError through both, as for any statement
 */
export const copyOut = (
  client: ServiceClient,
  query: string,
  patience?: Patience,
): { copy: CopyToStreamQuery; ended: Promise<void> } => {
  const copy = client.alone(() =>
    client.query(copyTo(`copy (${query}) to stdout with (format binary)`, { highWaterMark: AHEAD })),
  );
  copy.on('error', () => undefined); // a closing connection reports an error even after the stream has ended
  const unwatch = patience && watchSilence(client, patience);
  const ended = finished(copy)
    .catch((error: unknown) => {
      if (sqlStateOf(error) === undefined) client.connection.stream.destroy(); // not from PostgreSQL: the reader has disconnected
      throw error;
    })
    .finally(unwatch);
  return { copy, ended };
};
