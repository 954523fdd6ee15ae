import type { Socket } from 'node:net';
import { finished } from 'node:stream/promises';
import { type CopyToStreamQuery, to as copyTo } from 'pg-copy-streams';
import type { ServiceClient } from './service-client.js';
import { sqlStateOf } from './sql-error.js';

/** Who waits for data that does not come. */
export interface Patience {
  /** [ms] */
  limitMs: number;
  /** Called when PostgreSQL has sent nothing for that long, and its reader would take it. */
  lost(): void;
}

/** A slow reader takes longer than a statement may, and pauses for longer than a connection may be silent. */
export const COPY_SETTINGS = `select set_config('statement_timeout', '0', true), set_config('tcp_user_timeout', '0', true)`;

/** Calls back when PostgreSQL has been silent for too long. @returns ends it */
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
 * Sends COPY (query) TO STDOUT in its binary form. The connection is the reader's until the stream has ended. Destroying the stream
 * before that destroys the connection: PostgreSQL accepts no cancel while it waits for its reader.
 * @param query  SQL with its values in it
 * @returns the stream, and what settles when the connection can be used again
 * @throws DatabaseError through both, as of any statement
 */
export const copyOut = (
  client: ServiceClient,
  query: string,
  patience?: Patience,
): { copy: CopyToStreamQuery; ended: Promise<void> } => {
  const copy = client.alone(() => client.query(copyTo(`copy (${query}) to stdout with (format binary)`)));
  copy.on('error', () => undefined); // when its connection ends, it hears of that after its own end
  const unwatch = patience && watchSilence(client, patience);
  const ended = finished(copy)
    .catch((error: unknown) => {
      if (sqlStateOf(error) === undefined) client.connection.stream.destroy(); // not from PostgreSQL: its reader has left
      throw error;
    })
    .finally(unwatch);
  return { copy, ended };
};
