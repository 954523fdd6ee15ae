import type { WebSocket as Link } from 'graphql-ws';
import type { WebSocket } from 'ws';

/** Time for a peer to close its side. [ms] */
const CLOSE_MS = 1000;

/** Most data waiting to be sent to a slow peer; above it the peer is disconnected. [bytes] */
const MAX_WAITING = 1024 * 1024;

/** Consecutive pings. */
const MAX_UNANSWERED = 2;

const MINUTE_MS = 60_000;

/** A close reason must fit into a control frame (RFC 6455, section 5.5). [bytes] */
const MAX_REASON = 123;

/** Closes a connection; if the peer does not respond, destroys it. */
export const goAway = (socket: WebSocket, code: number, reason: string): void => {
  socket.close(code, Buffer.from(reason).subarray(0, MAX_REASON));
  setTimeout(() => socket.terminate(), CLOSE_MS).unref();
};

interface Options {
  /** Messages and pings per minute; 0: no limit. */
  maxPerMinute: number;
  pingMs: number;
  /** Called at each ping. */
  check(): void;
  failed(error: unknown): void;
}

/**
 * A connection as graphql-ws expects it. It is destroyed when its peer stops answering or does not read its messages; the next
 * message is sent only after the last was handed to the network.
 */
export const linkOf = (socket: WebSocket, { maxPerMinute, pingMs, check, failed }: Options): Link => {
  let unanswered = 0;
  let since = Date.now();
  let count = 0;

  /** Whether a received message may be processed: the connection is open, its peer reads, and the rate limit is kept. */
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
