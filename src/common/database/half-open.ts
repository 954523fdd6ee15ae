import type { Socket } from 'node:net';
import { connectionError, ServiceClient } from './service-client.js';

const SWEEP_MS = 1000;

/** A server that says nothing for so long is asked, over another connection, whether it still works on the answer. [sweeps] */
const ASK_AFTER = 3;

/** A connection that is not yet in use has nothing long to do. [sweeps] */
const NEW_LIMIT = 5;

/** What a statement may take beyond its time limit, which the server keeps. [ms] */
const MARGIN_MS = 5000;

interface Watched {
  client: ServiceClient;
  /** The server process; undefined until it has said so. */
  backend?: number;
  /** Bytes that were sent when the server had last answered everything: any beyond them wait for an answer. */
  answeredAt: number;
  /** Bytes read and sent at the last sweep. */
  seen: string;
  /** Sweeps without a byte either way while an answer is due. */
  silent: number;
  askAt: number;
  /** Whether the server said once that it is not working on the answer. */
  suspect: boolean;
}

interface Activity {
  pid: number;
  busy: boolean;
}

/** Not working for us: ready for a next statement, or blocked in reading from us or sending to us. */
const ACTIVITY = `select pid, not (state like 'idle%' or coalesce(wait_event_type = 'Client', false)) as busy
  from pg_stat_activity where pid = any($1)`;

const socketOf = ({ connection }: ServiceClient): Socket => connection.stream as Socket;

/**
 * Finds connections whose other end is gone without a word, as after a network or a firewall has dropped them: the answer
 * would never come, and the connection would hold its place in the pool. While a statement runs long, the server is asked
 * over another connection whether it still works on it; when it does not, or cannot be asked until the time limit of
 * statements has passed, the connection is given up. Sweeps are counted, not time: a process that was stopped or busy
 * itself gives up nothing.
 */
export class HalfOpenWatch {
  private readonly watched = new Set<Watched>();
  private readonly timer: NodeJS.Timeout;
  private readonly limit: number;
  private asking = false;

  /** @param statementTimeoutMs  the server's limit of a statement; undefined: none, and then no limit here either [ms] */
  constructor(
    private readonly url: string,
    statementTimeoutMs?: number,
  ) {
    this.limit =
      statementTimeoutMs === undefined ? Infinity : Math.ceil((statementTimeoutMs + MARGIN_MS) / SWEEP_MS);
    this.timer = setInterval(() => this.sweep(), SWEEP_MS).unref();
  }

  /** Watches a connection until it ends. @returns what takes the number of its server process */
  watch(client: ServiceClient): (backend: number) => void {
    const entry: Watched = {
      client,
      answeredAt: socketOf(client).bytesWritten,
      seen: '',
      silent: 0,
      askAt: ASK_AFTER,
      suspect: false,
    };
    // not with each answer: behind the first of several statements sent together the others still wait for theirs
    client.on('drain', () => (entry.answeredAt = socketOf(client).bytesWritten));
    client.once('end', () => this.watched.delete(entry));
    this.watched.add(entry);
    return (backend) => {
      entry.backend = backend;
    };
  }

  /** Destroys every connection; what waits for an answer on it fails. */
  abandon(): void {
    for (const { client } of this.watched)
      socketOf(client).destroy(connectionError('08006', 'The service is stopping.'));
  }

  stop(): void {
    clearInterval(this.timer);
  }

  private sweep(): void {
    for (const entry of this.watched) {
      const { bytesRead, bytesWritten, readableLength } = socketOf(entry.client);
      const seen = `${bytesRead}/${bytesWritten}`;
      const waitsForUs = readableLength > 0; // a reader of COPY takes its time
      if (bytesWritten <= entry.answeredAt || seen !== entry.seen || waitsForUs) {
        Object.assign(entry, { seen, silent: 0, askAt: ASK_AFTER, suspect: false });
        continue;
      }
      entry.silent += 1;
      if (entry.silent >= (entry.backend === undefined ? NEW_LIMIT : this.limit)) this.giveUp(entry);
    }
    const due = [...this.watched].filter(({ silent, askAt, backend }) => backend && silent >= askAt);
    if (due.length > 0 && !this.asking) void this.ask(due);
  }

  private async ask(due: Watched[]): Promise<void> {
    this.asking = true;
    const asked = due.map((entry) => ({ entry, seen: entry.seen }));
    const client = new ServiceClient({ connectionString: this.url, query_timeout: 3 * SWEEP_MS });
    try {
      await client.connect();
      const pids = due.map(({ backend }) => backend);
      const { rows } = await client.query<Activity>(ACTIVITY, [pids]);
      for (const { entry, seen } of asked)
        if (entry.seen === seen && entry.silent > 0) this.judge(entry, rows);
    } catch {
      // The server cannot be reached now: the next sweep tries again.
    } finally {
      this.asking = false;
      await client.end();
    }
  }

  /** An answer may be on its way: only what is found twice is given up. */
  private judge(entry: Watched, rows: Activity[]): void {
    if (rows.find(({ pid }) => pid === entry.backend)?.busy) {
      entry.suspect = false;
      entry.askAt = entry.silent * 2;
    } else if (entry.suspect) this.giveUp(entry);
    else entry.suspect = true;
  }

  private giveUp(entry: Watched): void {
    this.watched.delete(entry);
    socketOf(entry.client).destroy(
      connectionError(
        '08006',
        `The database has not answered for ${entry.silent} s: the connection is given up.`,
      ),
    );
  }
}
