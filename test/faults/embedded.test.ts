import { mkdtempSync, chmodSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { type EmbeddedPostgres, startEmbeddedPostgres } from '../../src/common/database/embedded-postgres.js';
import { isAlive, orphansOf } from '../../src/common/database/postmaster.js';
import { end, holdPostgres, postmasterPid } from '../harness/holder.js';
import { rowsAt } from '../harness/rows-at.js';
import { inLong, itOnce } from '../harness/sizes.js';
import { until } from '../harness/until.js';

/** A cluster shared by the tests: each leaves it intact. */
let folder: string;
let dataDir: string;
let server: EmbeddedPostgres | undefined;
let reports: string[];

const start = async (): Promise<EmbeddedPostgres> => {
  reports = [];
  server = await startEmbeddedPostgres({
    dataDir,
    database: 'drive',
    persistent: true,
    report: (message) => reports.push(message),
  });
  return server;
};

beforeAll(() => {
  folder = mkdtempSync(path.join(os.tmpdir(), 'faults-'));
  chmodSync(folder, 0o755);
  dataDir = path.join(folder, 'data');
});

afterEach(async () => {
  await server?.stop();
  server = undefined;
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('the embedded PostgreSQL', () => {
  itOnce(
    'is started again when its postmaster is killed, with what was committed, while statements run',
    async () => {
      const { url } = await start();
      await rowsAt(url, 'create table kept as select 1 as one');
      // a busy process notices late that its postmaster is gone
      const busy = rowsAt(url, `select count(*) from generate_series(1, 100000000000)`).catch(
        (error: unknown) => error,
      );
      await until(() => orphansOf(path.join(dataDir, 'postgresql')).length > 0);
      const killed = postmasterPid(dataDir);
      process.kill(killed, 'SIGKILL');
      expect(await busy).toHaveProperty('message');
      await until(() => reports.includes('PostgreSQL runs again.'));
      expect(postmasterPid(dataDir)).not.toBe(killed);
      expect(await rowsAt(url, 'select one from kept')).toEqual([{ one: 1 }]);
    },
  );

  inLong(() => {
    it('is given up, and says so, when it cannot be started again', async () => {
      const { lost } = await start();
      const version = path.join(dataDir, 'postgresql', 'PG_VERSION');
      const kept = readFileSync(version);
      writeFileSync(version, '9\n');
      process.kill(postmasterPid(dataDir), 'SIGKILL');
      const { message } = await lost;
      writeFileSync(version, kept);
      expect(message).toMatch(
        /^PostgreSQL ended and could not be started again: PostgreSQL did not start: database files are incompatible/,
      );
    });
  });

  inLong(() => {
    it('that no longer responds is stopped by force, within the time allowed', async () => {
      const { stop } = await start();
      const pid = postmasterPid(dataDir);
      process.kill(pid, 'SIGSTOP');
      await stop(500);
      expect(isAlive(pid)).toBe(false);
    });
  });

  itOnce('starts after a killed service left behind a postmaster that does not respond', async () => {
    const holder = await holdPostgres({ dataDir, database: 'drive', persistent: true });
    const pid = postmasterPid(dataDir);
    await end(holder, 'SIGKILL');
    process.kill(pid, 'SIGKILL');
    const { url } = await start();
    expect(await rowsAt(url, 'select 1 as one')).toEqual([{ one: 1 }]);
  });

  inLong(() => {
    it('starts when the process id of its last postmaster belongs to the server of another folder', async () => {
      const first = await start();
      await first.stop();
      const other = await startEmbeddedPostgres({
        dataDir: path.join(folder, 'other'),
        database: 'drive',
        persistent: false,
      });
      try {
        const note = path.join(dataDir, 'postgresql', 'postmaster.pid');
        writeFileSync(note, `${postmasterPid(path.join(folder, 'other'))}\n${path.dirname(note)}\n`);
        const { url } = await start();
        expect(await rowsAt(url, 'select 1 as one')).toEqual([{ one: 1 }]);
      } finally {
        await other.stop();
      }
    });
  });
});
