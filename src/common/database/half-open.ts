import type { Socket } from 'node:net';
import { connectionError, ServiceClient } from './service-client.js';

const SWEEP_MS = 1000;

/** After this much silence, the server is asked over another connection whether it is still working on the answer. [sweeps] */
const PROBE_AFTER = 3;

/** Limit for a connection that is being opened, which has nothing long to do. [sweeps] */
const NEW_LIMIT = 5;

/** Margin beyond the statement time limit, which the server enforces. [ms] */
const MARGIN_MS = 5000;

interface Watched {
  client: ServiceClient;
  /** The server process; undefined until known. */
  backend?: number;
  /** Bytes sent when the server had last answered everything: any beyond them are waiting for an answer. */
  answeredAt: number;
  /** Bytes read and written at the last sweep. */
  seen: string;
  /** Sweeps without traffic while an answer is due. */
  silent: number;
  askAt: number;
  /** Whether the server has once said that it is not working on the answer. */
  suspect: boolean;
}

interface Activity {
  pid: number;
  busy: boolean;
}

/** Whether the process is not working for us: it is ready for the next statement, or blocked in reading from us or sending to us. */
const ACTIVITY = `select pid, not (state like 'idle%' or coalesce(wait_event_type = 'Client', false)) as busy
  from pg_stat_activity where pid = any($1)`;

const socketOf = ({ connection }: ServiceClient): Socket => connection.stream as Socket;

/**
 * Detects connections whose other end has vanished silently, for instance dropped by a network or a firewall: the answer would
 * never come, and the connection would keep its place in the pool. While a statement runs long, the server is asked over another
 * connection whether it is still working on it; if it is not, or cannot be asked until the statement time limit has passed, the
 * connection is given up. It counts sweeps, not time: after being suspended or busy itself, the process gives up nothing.
 */
export class HalfOpenWatch {
  private readonly watched = new Set<Watched>();
  private readonly timer: NodeJS.Timeout;
  private readonly limit: number;
  private asking = false;

  /** @param statementTimeoutMs  the server's time limit of a statement; undefined: none, so no limit here either [ms] */
  constructor(
    private readonly url: string,
    statementTimeoutMs?: number,
  ) {
    this.limit =
      statementTimeoutMs === undefined ? Infinity : Math.ceil((statementTimeoutMs + MARGIN_MS) / SWEEP_MS);
    this.timer = setInterval(() => this.sweep(), SWEEP_MS).unref();
  }

  /** Watches a connection until it ends. @returns a function that takes the number of its server process */
  watch(client: ServiceClient): (backend: number) => void {
    const entry: Watched = {
      client,
      answeredAt: socketOf(client).bytesWritten,
      seen: '',
      silent: 0,
      askAt: PROBE_AFTER,
      suspect: false,
    };
    // on drain, not at each answer: of several statements sent together, later ones still wait for theirs
    client.on('drain', () => (entry.answeredAt = socketOf(client).bytesWritten));
    client.once('end', () => this.watched.delete(entry));
    this.watched.add(entry);
    return (backend) => {
      entry.backend = backend;
    };
  }

  /** Destroys every connection; statements waiting for an answer fail. */
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
      const waitsForUs = readableLength > 0; // a reader of COPY may be slow
      if (bytesWritten <= entry.answeredAt || seen !== entry.seen || waitsForUs) {
        Object.assign(entry, { seen, silent: 0, askAt: PROBE_AFTER, suspect: false });
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
      // The server is unreachable: the next sweep tries again.
    } finally {
      this.asking = false;
      await client.end();
    }
  }

  /** An answer may be on its way: a connection is given up only at the second finding. */
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
