import { connect } from 'node:net';
import type pg from 'pg';
import { type EmbeddedPostgres, startEmbeddedPostgres } from '../../src/common/database/embedded-postgres.js';
import { postmasterPid } from '../harness/holder.js';
import { type CutMoment, Proxy } from '../harness/proxy.js';
import { rowsAt } from '../harness/rows-at.js';
import { Served } from '../harness/served.js';
import { until } from '../harness/until.js';
import { Journal } from './journal.js';

/** 503 answers before a lasting fault is removed. */
const FAILURES = 5;

/** A separate PostgreSQL that keeps what it commits, the service in a separate process, and a network between them. */
export class Site {
  readonly reports: string[] = [];

  private constructor(
    readonly postgres: EmbeddedPostgres,
    readonly proxy: Proxy,
    readonly service: Served,
    readonly journal: Journal,
  ) {}

  static async start(dataDir: string): Promise<Site> {
    const heard: { by?: Site } = {};
    const report = (message: string): void => void heard.by?.reports.push(message);
    const postgres = await startEmbeddedPostgres({ dataDir, database: 'drive', persistent: true, report });
    const proxy = await Proxy.start(postgres.url);
    const service = new Served({ DATABASE_URL: proxy.url, RATE_LIMIT_PER_MINUTE: '0' });
    heard.by = new Site(postgres, proxy, service, new Journal(() => service.address));
    await service.start();
    return heard.by;
  }

  /** Rows of a query, bypassing the service and the proxy, each over a new connection. */
  sql<T extends pg.QueryResultRow>(text: string): Promise<T[]> {
    return rowsAt<T>(this.postgres.url, text);
  }

  async stop(): Promise<void> {
    await this.service.end('SIGKILL');
    await this.proxy.close();
    await this.postgres.stop();
  }
}

/** Strikes once; a lasting fault is over when it resolves. */
export type Strike = (site: Site, n: number) => Promise<void>;

const cutAt = async (
  { proxy }: Site,
  when: CutMoment,
  statement: (sql: string, number: number) => boolean,
): Promise<void> => {
  let struck = false;
  const matches = (sql: string, number: number): boolean => (struck ||= statement(sql, number));
  proxy.cutAt({ when, statement: matches });
  await until(() => struck);
  expect(struck).toBe(true);
};

/** Interrupts at the n-th statement from now. */
export const cutAtStatement =
  (when: CutMoment): Strike =>
  (site, n) => {
    const from = site.proxy.statements.length;
    return cutAt(site, when, (_, number) => number >= from + n);
  };

/** Interrupts at the next COMMIT. */
export const cutAtCommit =
  (when: CutMoment): Strike =>
  (site) =>
    cutAt(site, when, (sql) => /^commit$/i.test(sql));

const untilFailed = async ({ journal }: Site): Promise<void> => {
  const before = journal.failed;
  await until(() => journal.failed >= before + FAILURES);
  expect(journal.failed - before).toBeGreaterThanOrEqual(FAILURES);
};

const runsAgain = async ({ reports }: Site): Promise<void> => {
  await until(() => reports.includes('PostgreSQL runs again.'));
  expect(reports).toContain('PostgreSQL runs again.');
};

const CLIENTS = `from pg_stat_activity where backend_type = 'client backend' and pid <> pg_backend_pid()`;

/** Sockets kept open: silent, half a header, a stalled upload. */
const heldSockets = async (address: string): Promise<void> => {
  const { hostname, port } = new URL(address);
  for (const text of [
    '',
    'GET /v1/health HTTP/1.1\r\nx-half: ',
    'PUT /v1/projects/P2 HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ncontent-length: 900\r\n\r\n{',
  ]) {
    const socket = connect(Number(port), hostname);
    socket.on('error', () => undefined);
    await new Promise((resolve) => socket.once('connect', resolve));
    socket.write(text);
  }
};

const serviceEnds =
  (signal: 'SIGTERM' | 'SIGKILL'): Strike =>
  async ({ service }) => {
    await heldSockets(await service.address);
    const status = await service.end(signal);
    expect(status).toBe(signal === 'SIGTERM' ? 0 : null);
    await service.start();
  };

export const STRIKES: Record<string, Strike> = {
  'connections are reset': async ({ proxy }) => proxy.cut(),
  'the database is out of reach': async (site) => {
    site.proxy.refuse();
    await untilFailed(site);
    site.proxy.restore();
  },
  'connections fall silent': async ({ proxy }) => {
    proxy.stall();
    proxy.restore();
  },
  'the database is 300 ms away': async ({ proxy, journal }, n) => {
    proxy.delay(150);
    await journal.request(n);
    proxy.delay(0);
  },
  'cut at a statement, which does not arrive': cutAtStatement('before'),
  'cut at a statement, which arrives': cutAtStatement('sent'),
  'cut at a statement, whose answer does not arrive': cutAtStatement('answered'),
  'cut at COMMIT, which does not arrive': cutAtCommit('before'),
  'cut at COMMIT, which arrives': cutAtCommit('sent'),
  'cut after COMMIT': cutAtCommit('answered'),
  'backends are terminated': async (site) =>
    void (await site.sql(`select pg_terminate_backend(pid) ${CLIENTS}`)),
  'a backend is killed': async (site) => {
    const [backend] = await site.sql<{ pid: number }>(
      `select pid ${CLIENTS} order by state <> 'active' limit 1`,
    );
    try {
      if (backend) process.kill(backend.pid, 'SIGKILL');
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'ESRCH') throw error; // it has ended since
    }
  },
  'the postmaster is killed': async (site) => {
    site.reports.length = 0;
    process.kill(postmasterPid(site.postgres.dataDir), 'SIGKILL');
    await runsAgain(site);
  },
  'the service is killed': serviceEnds('SIGKILL'),
  'the service is stopped': serviceEnds('SIGTERM'),
};
