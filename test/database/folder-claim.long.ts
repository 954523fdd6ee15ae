import { once } from 'node:events';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import {
  type EmbeddedPostgres,
  runningEmbeddedPostgres,
  startEmbeddedPostgres,
} from '../../src/common/database/embedded-postgres.js';
import { claimFolder } from '../../src/common/database/claim.js';
import { isAlive } from '../../src/common/database/postmaster.js';
import { holdPostgres, postmasterPid } from '../harness/holder.js';
import { until } from '../harness/until.js';

// Another container is simulated by a claim that names another place, whose process numbers mean nothing here.

let folder: string;
let dataDir: string;
let server: EmbeddedPostgres | undefined;

const claimFile = (): string => path.join(dataDir, 'postgresql.claim');
const postmasterFile = (): string => path.join(dataDir, 'postgresql', 'postmaster.pid');

const start = (watchMs?: number): Promise<EmbeddedPostgres> =>
  startEmbeddedPostgres({ dataDir, database: 'drive', persistent: true, watchMs });

/** Where the system reports it (Linux); elsewhere it is assumed. */
const isStopped = (pid = 0): boolean => {
  const stat = `/proc/${pid}/stat`;
  return !existsSync(stat) || /\) T /.test(readFileSync(stat, 'utf8'));
};

const query = async (url: string, sql: string): Promise<unknown[]> => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  return client.query(sql).then(
    ({ rows }) => client.end().then(() => rows),
    (error: unknown) => client.end().then(() => Promise.reject(error as Error)),
  );
};

/** Leaves the folder as a service elsewhere would: running, or with its container killed. */
const leaveElsewhere = async (): Promise<void> => {
  const first = await start();
  await query(first.url, `create table kept as select 1.7 as m`);
  await first.stop();
  writeFileSync(claimFile(), `0123456789abcdef 7-123 1800000000000`);
  writeFileSync(postmasterFile(), `${process.pid}\n${path.join(dataDir, 'postgresql')}\n`); // a number that is also in use here
};

beforeEach(() => {
  folder = mkdtempSync(path.join(os.tmpdir(), 'claim-'));
  chmodSync(folder, 0o755);
  dataDir = path.join(folder, 'data');
});

afterEach(async () => {
  await server?.stop();
  server = undefined;
  rmSync(folder, { recursive: true, force: true });
});

it('leaves alone a folder that a service in another container or on another machine uses', async () => {
  await leaveElsewhere();
  const note = readFileSync(postmasterFile(), 'utf8');
  let beats = 1_800_000_000_000;
  const beating = setInterval(
    () => writeFileSync(claimFile(), `0123456789abcdef 7-123 ${(beats += 50)}`),
    50,
  );
  try {
    expect(runningEmbeddedPostgres({ dataDir, database: 'drive', persistent: true })).toBeUndefined();
    await expect(start()).rejects.toThrow(
      new Error(
        `The data folder ${dataDir} is in use by a service in another container or on another machine: run commands there, stop that service first, or name another folder by DATA_DIR.`,
      ),
    );
    expect(readFileSync(postmasterFile(), 'utf8')).toBe(note);
  } finally {
    clearInterval(beating);
  }
});

it('takes over from one without a sign of life, and finds what was committed', async () => {
  await leaveElsewhere();
  server = await start(500);
  expect(await query(server.url, 'select m from kept')).toEqual([{ m: '1.7' }]);
});

it('is claimed while the server runs, by a file that changes, and released when it stops', async () => {
  server = await start();
  const first = readFileSync(claimFile(), 'utf8');
  while (readFileSync(claimFile(), 'utf8') === first) await new Promise((next) => setTimeout(next, 100));
  await server.stop();
  expect(existsSync(claimFile())).toBe(false);
});

it('a service that was suspended finds its folder taken over, and ends without touching it again', async () => {
  const holder = await holdPostgres({ dataDir, database: 'drive', persistent: true }, undefined, 'pipe');
  let words = '';
  holder.process.stderr?.on('data', (bytes) => (words += String(bytes)));
  const over = once(holder.process, 'close');
  const postmaster = postmasterPid(dataDir);
  const backend = new pg.Client({ connectionString: holder.url });
  backend.on('error', () => undefined);
  await backend.connect();
  const { rows } = await backend.query<{ pid: number }>('select pg_backend_pid() as pid');
  holder.process.kill('SIGSTOP');
  await until(() => isStopped(holder.process.pid)); // otherwise it may still renew its claim
  rmSync(claimFile());
  writeFileSync(claimFile(), `0123456789abcdef 7-123 1800000000000`);
  writeFileSync(postmasterFile(), `7\n${path.join(dataDir, 'postgresql')}\n`);
  holder.process.kill('SIGCONT');
  expect(await over).toEqual([1, null]);
  expect(words).toBe(
    `The data folder ${dataDir} was taken over by another service while this one was suspended: this one stops, and can be started again once the other is stopped.\n`,
  );
  for (const pid of [postmaster, ...rows.map((row) => row.pid)]) await until(() => !isAlive(pid));
  expect(readFileSync(claimFile(), 'utf8')).toBe('0123456789abcdef 7-123 1800000000000');
  expect(readFileSync(postmasterFile(), 'utf8')).toBe(`7\n${path.join(dataDir, 'postgresql')}\n`);
});

it('whose folder was taken over starts no server there again, and does not release the claim of the other', () => {
  const claim = claimFolder(folder);
  const file = path.join(folder, 'postgresql.claim');
  expect(() => claim.assertHeld()).not.toThrow();
  rmSync(file);
  expect(() => claim.assertHeld()).toThrow('was taken over by another service');
  writeFileSync(file, '0123456789abcdef 7-123 1800000000000');
  expect(() => claim.assertHeld()).toThrow('was taken over by another service');
  claim.giveBack();
  expect(existsSync(file)).toBe(true);
});

it('is claimed by only one of two, even before there is a server', () => {
  const claim = claimFolder(folder);
  expect(() => claimFolder(folder)).toThrow(`is in use by process ${process.pid}: stop that one first`);
  claim.giveBack();
  claimFolder(folder).giveBack();
});

it('is taken over from a process that has ended', () => {
  claimFolder(folder).giveBack();
  const file = path.join(folder, 'postgresql.claim');
  const claim = claimFolder(folder);
  const [place] = readFileSync(file, 'utf8').split(' ');
  claim.giveBack();
  writeFileSync(file, `${place} 999999999-1 1800000000000`);
  claimFolder(folder).giveBack();
  expect(existsSync(file)).toBe(false);
});
