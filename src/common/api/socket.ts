import type { WebSocket as Link } from 'graphql-ws';
import type { WebSocket } from 'ws';

/** How long a peer may take to close its side. [ms] */
const CLOSE_MS = 1000;

/** What waits to be sent to a peer that reads slowly; beyond, it is cut off. [bytes] */
const MAX_WAITING = 1024 * 1024;

/** Pings in a row. */
const MAX_UNANSWERED = 2;

const MINUTE_MS = 60_000;

/** A reason fits into a control frame (RFC 6455 section 5.5). [bytes] */
const MAX_REASON = 123;

/** Closes a connection; one whose peer does not answer is cut off. */
export const goAway = (socket: WebSocket, code: number, reason: string): void => {
  socket.close(code, Buffer.from(reason).subarray(0, MAX_REASON));
  setTimeout(() => socket.terminate(), CLOSE_MS).unref();
};

interface Options {
  /** Messages and pings a minute; 0: no limit. */
  maxPerMinute: number;
  pingMs: number;
  /** Called at each ping. */
  check(): void;
  failed(error: unknown): void;
}

/**
 * A connection as graphql-ws serves it. It is cut off when its peer no longer answers, or does not read what it is sent;
 * what is sent waits until the last was handed to the network.
 */
export const linkOf = (socket: WebSocket, { maxPerMinute, pingMs, check, failed }: Options): Link => {
  let unanswered = 0;
  let since = Date.now();
  let count = 0;

  /** Whether what has come may be dealt with. */
  const isFine = (): boolean => {
    if (socket.readyState !== socket.OPEN) return false;
    if (socket.bufferedAmount > MAX_WAITING) {
      socket.terminate();
      return false;
    }
    if (Date.now() - since >= MINUTE_MS) [since, count] = [Date.now(), 0];
    count += 1;
    if (maxPerMinute === 0 || count <= maxPerMinute) return true;
    goAway(socket, 4429, `More than ${maxPerMinute} messages within a minute.`);
    return false;
  };

  const beat = setInterval(() => {
    if (unanswered >= MAX_UNANSWERED || socket.bufferedAmount > MAX_WAITING) return socket.terminate();
    unanswered += 1;
    socket.ping();
    check();
  }, pingMs);
  socket.on('pong', () => (unanswered = 0));
  socket.on('ping', (data: Buffer) => {
    if (isFine()) socket.pong(data);
  });
  socket.once('close', () => clearInterval(beat));

  return {
    protocol: socket.protocol,
    send: (data) =>
      new Promise<void>((resolve, reject) => {
        if (socket.readyState !== socket.OPEN) resolve();
        else socket.send(data, (error) => (error ? reject(error) : resolve()));
      }),
    close: (code = 1000, reason = '') => goAway(socket, code, reason),
    onMessage: (handle) => {
      socket.on('message', (data: Buffer) => {
        if (isFine()) handle(data.toString()).catch(failed);
      });
    },
  };
};
