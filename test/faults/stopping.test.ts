import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { connect, type Socket } from 'node:net';
import path from 'node:path';
import pg from 'pg';
import WebSocket from 'ws';
import { packageRoot } from '../../src/common/package-root.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { inLong, itOnce } from '../harness/sizes.js';

/** A supervisor may rely on half of it, by the clock of the service: beyond that it exits with 143, not 0. A loaded machine adds to it. [ms] */
const STOP_MS = 30_000;

let database: TestDatabase;
let service: ChildProcess;
let address: URL;
let owner: pg.Client;

beforeEach(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  const script = path.join(packageRoot, 'test', 'harness', 'serve.mjs');
  service = spawn(process.execPath, [script], {
    env: { ...process.env, DATABASE_URL: database.url, PORT: '0', LOG_LEVEL: 'silent' },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let text = '';
  service.stdout?.on('data', (chunk) => (text += String(chunk)));
  while (!text.includes('Ctrl-C')) await new Promise((resolve) => setTimeout(resolve, 50));
  address = new URL(/http:\S+\d/.exec(text)?.[0] ?? '');
});

afterEach(async () => {
  service.kill('SIGKILL');
  await owner.end();
  await database.drop();
});

const open = async (...text: string[]): Promise<Socket> => {
  const socket = connect(Number(address.port), address.hostname);
  socket.on('error', () => undefined);
  await once(socket, 'connect');
  for (const piece of text) socket.write(piece);
  return socket;
};

const ended = (): Promise<unknown[]> =>
  service.exitCode === null ? once(service, 'exit') : Promise.resolve([service.exitCode, null]);

const stoppedWithin = async (limitMs: number): Promise<unknown> => {
  const since = Date.now();
  const [status, signal] = await ended();
  return { status, signal, inTime: Date.now() - since <= limitMs };
};

const project = (name: string): RequestInit => ({
  method: 'PUT',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify({ name, timeZone: 'Europe/Zurich', dayStart: '06:00', currency: 'CHF' }),
});

/** Waits until a statement of the service is waiting for a lock held by the test. */
const waiting = async (): Promise<void> => {
  for (;;) {
    const { rowCount } = await owner.query(
      `select from pg_stat_activity where wait_event_type = 'Lock' and datname = current_database()`,
    );
    if (rowCount) return;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
};

describe('a service that is told to stop', () => {
  itOnce('ends in time even with open connections, and leaves nothing half written', async () => {
    const url = new URL('/v1/projects/P1', address);
    expect((await fetch(url, project('Trial'))).status).toBeLessThan(300);
    await open();
    await open('GET /v1/health HTTP/1.1\r\nhost: x\r\nx-half: ');
    await open(
      'POST /v1/projects/P1/drives/N/samples HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: application/x-ndjson\r\ncontent-length: 90000\r\n\r\n',
      '{"half":',
    );
    await open(
      'PUT /v1/projects/P2 HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: application/json\r\ncontent-length: 90000\r\n\r\n{',
    );
    const live = new WebSocket(`ws://${address.host}/graphql`, 'graphql-transport-ws');
    live.on('error', () => undefined);
    await once(live, 'open');
    await owner.query('begin; lock table project');
    const held = fetch(url, project('Renamed')).catch((error: unknown) => error);
    await waiting();
    service.kill('SIGTERM');
    expect(await stoppedWithin(STOP_MS)).toEqual({ status: 0, signal: null, inTime: true });
    await held;
    await owner.query('commit');
    expect((await owner.query('select code, name from project')).rows).toEqual([
      { code: 'P1', name: 'Trial' },
    ]);
  });

  inLong(() => {
    it('finishes a request in progress, answers the next one 503, and ends', async () => {
      const url = new URL('/v1/projects/P1', address);
      expect((await fetch(url, project('Trial'))).status).toBeLessThan(300);
      // before the other one, whose answer shows that this one has been read too
      const half = await open('GET /v1/health/live HTTP/1.1\r\nhost: 127.0.0.1\r\n');
      const keptAlive = await open('GET /v1/health/live HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n');
      await once(keptAlive, 'data');
      await owner.query('begin; lock table project');
      const held = fetch(url, project('Renamed'));
      await waiting();
      service.kill('SIGTERM');
      await once(keptAlive, 'close'); // stopping has begun: it closes idle connections
      half.write('\r\n');
      const [answer] = (await once(half, 'data')) as [Buffer];
      expect(String(answer)).toMatch(/^HTTP\/1\.1 503 /);
      expect(String(answer)).toMatch(/^connection: close/im);
      expect(String(answer)).toMatch(/^retry-after: \d/im);
      expect(String(answer)).toContain('/docs/problems#unavailable');
      await owner.query('commit');
      expect((await held).status).toBeLessThan(300);
      expect(await stoppedWithin(STOP_MS)).toEqual({ status: 0, signal: null, inTime: true });
      expect((await owner.query('select name from project')).rows).toEqual([{ name: 'Renamed' }]);
    });
  });

  inLong(() => {
    it('ends at once when it is told again', async () => {
      // a request certainly in progress: half a request may not have been read yet
      await owner.query('begin; lock table project');
      const held = fetch(new URL('/v1/projects/P2', address), project('Trial')).catch(
        (error: unknown) => error,
      );
      await waiting();
      const keptAlive = await open('GET /v1/health/live HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n');
      await once(keptAlive, 'data');
      service.kill('SIGTERM');
      await once(keptAlive, 'close'); // stopping has begun: it closes idle connections
      await new Promise((resolve) => setTimeout(resolve, 1500)); // a signal within a second counts as the same one
      expect(service.exitCode).toBeNull();
      service.kill('SIGTERM');
      // 128 + 15: how shells report a process that SIGTERM has ended
      expect(await ended()).toEqual([143, null]);
      await owner.query('rollback');
      expect(await held).toBeInstanceOf(Error);
    });
  });
});
