import { execFileSync } from 'node:child_process';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  readdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { createServer } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import {
  type EmbeddedOptions,
  type EmbeddedPostgres,
  startEmbeddedPostgres,
  startTemporaryPostgres,
} from '../../src/common/database/embedded-postgres.js';
import { isAlive } from '../../src/common/database/postmaster.js';
import { byLogin, prepareRoles } from '../../src/common/database/roles.js';
import { end, type Holder, holdPostgres, postmasterPid } from '../harness/holder.js';
import { inLong, itOnce } from '../harness/sizes.js';

const query = async <T extends pg.QueryResultRow>(url: string, sql: string): Promise<T[]> => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query<T>(sql)).rows;
  } finally {
    await client.end();
  }
};

describe('embedded PostgreSQL', () => {
  let folder: string;
  let options: EmbeddedOptions;
  const servers: EmbeddedPostgres[] = [];
  const holders: Holder[] = [];

  const start = async (changes: Partial<EmbeddedOptions> = {}): Promise<EmbeddedPostgres> => {
    const server = await startEmbeddedPostgres({ ...options, ...changes });
    servers.push(server);
    return server;
  };
  const hold = async (): Promise<Holder> => {
    const holder = await holdPostgres(options);
    holders.push(holder);
    return holder;
  };

  /** The folder of a first start, to copy: making a cluster takes more than a second. */
  let seed: string;

  const newFolder = (): string => {
    const made = mkdtempSync(path.join(os.tmpdir(), 'embedded-'));
    chmodSync(made, 0o755);
    return made;
  };

  beforeAll(async () => {
    seed = newFolder();
    const dataDir = path.join(seed, 'data');
    const first = await startEmbeddedPostgres({ dataDir, database: 'drive', persistent: true });
    await first.stop();
    // outside the range of ephemeral ports, which may be taken between two starts
    const file = path.join(dataDir, 'postgresql.json');
    const kept = JSON.parse(readFileSync(file, 'utf8')) as { port: number };
    writeFileSync(file, JSON.stringify({ ...kept, port: 20_000 + (process.pid % 10_000) }));
  });

  afterAll(() => rmSync(seed, { recursive: true }));

  beforeEach(() => {
    folder = newFolder();
    options = { dataDir: path.join(folder, 'data'), database: 'drive', persistent: true };
    execFileSync('cp', ['-a', path.join(seed, 'data'), folder]);
  });

  afterEach(async () => {
    for (const holder of holders.splice(0)) await end(holder, 'SIGTERM');
    for (const server of servers.splice(0)) await server.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  itOnce('keeps data, port and password from one start to the next', async () => {
    const first = await start();
    await query(first.url, `create table kept as select 'Ø 9.43 m' as text`);
    await first.stop();
    await expect(query(first.url, 'select 1')).rejects.toThrow('ECONNREFUSED');
    const second = await start();
    expect(second.url).toBe(first.url);
    expect(await query(second.url, 'select text from kept')).toEqual([{ text: 'Ø 9.43 m' }]);
  });

  itOnce('can be reached only from this machine, by a password that nobody else can read', async () => {
    const { url, dataDir } = await start();
    const { password, pathname, hostname } = new URL(url);
    expect({ pathname, hostname }).toEqual({ pathname: '/drive', hostname: '127.0.0.1' });
    expect(password).toMatch(/^[0-9a-f]{48}$/);
    expect(statSync(path.join(dataDir, 'postgresql.json')).mode & 0o777).toBe(0o600);
    await expect(query(url.replace(password, 'postgres'), 'select 1')).rejects.toThrow('password');
    const settings = `select name, setting from pg_settings
      where name in ('listen_addresses', 'unix_socket_directories', 'fsync', 'server_encoding') order by 1`;
    expect(await query(url, settings)).toEqual([
      { name: 'fsync', setting: 'on' },
      { name: 'listen_addresses', setting: '127.0.0.1' },
      { name: 'server_encoding', setting: 'UTF8' },
      { name: 'unix_socket_directories', setting: '' },
    ]);
  });

  inLong(() => {
    it('uses another port when its own is in use', async () => {
      const first = await start();
      const port = Number(new URL(first.url).port);
      await first.stop();
      const squatter = createServer();
      await new Promise<void>((resolve) => squatter.listen(port, '127.0.0.1', resolve));
      try {
        const second = await start();
        expect(new URL(second.url).port).not.toBe(String(port));
        expect(await query(second.url, 'select 1 as one')).toEqual([{ one: 1 }]);
      } finally {
        squatter.close();
      }
    });
  });

  itOnce('refuses a folder that another process uses, in one sentence', async () => {
    const holder = await hold();
    const held = `The data folder ${options.dataDir} is in use by PostgreSQL process ${postmasterPid(options.dataDir)}, started by process ${holder.process.pid}: stop that one first, or name another folder by DATA_DIR.`;
    await expect(start()).rejects.toThrow(new Error(held));
    expect(await query(holder.url ?? '', 'select 1 as one')).toEqual([{ one: 1 }]);
  });

  inLong(() => {
    it('allows one of two that start at the same moment for the first time', async () => {
      options.dataDir = path.join(folder, 'new');
      const both = await Promise.all([hold(), hold()]);
      expect(both.filter(({ url }) => url)).toHaveLength(1);
      expect(both.find(({ error }) => error)?.error).toMatch(/is in use by (PostgreSQL )?process/);
    });
  });

  itOnce('takes over from a process that was killed, and finds what was committed', async () => {
    const holder = await hold();
    await query(holder.url ?? '', 'create table kept as select 1 as one');
    const orphan = postmasterPid(options.dataDir);
    await end(holder, 'SIGKILL');
    expect(isAlive(orphan)).toBe(true);
    const server = await start();
    expect(isAlive(orphan)).toBe(false);
    expect(await query(server.url, 'select one from kept')).toEqual([{ one: 1 }]);
  });

  itOnce('recovers after PostgreSQL itself was killed', async () => {
    const first = await start();
    await query(first.url, 'create table kept as select 1 as one');
    process.kill(postmasterPid(first.dataDir), 'SIGKILL');
    await first.stop();
    const second = await start();
    expect(await query(second.url, 'select one from kept')).toEqual([{ one: 1 }]);
  });

  inLong(() => {
    it('starts though another program now has the process id of its dead server', async () => {
      const first = await start();
      await first.stop();
      const note = path.join(first.dataDir, 'postgresql', 'postmaster.pid');
      writeFileSync(note, `${process.pid}\n${path.dirname(note)}\n`);
      const second = await start();
      expect(await query(second.url, 'select 1 as one')).toEqual([{ one: 1 }]);
    });
  });

  itOnce('reports the message of PostgreSQL when it does not start', async () => {
    const first = await start();
    await first.stop();
    writeFileSync(path.join(first.dataDir, 'postgresql', 'PG_VERSION'), '9\n');
    await expect(start()).rejects.toThrow(
      /^PostgreSQL did not start: database files are incompatible with server/,
    );
  });

  inLong(() => {
    it('completes the settings of a folder from before the service had its own login', async () => {
      const file = path.join(options.dataDir, 'postgresql.json');
      const { password, port } = JSON.parse(readFileSync(file, 'utf8')) as { password: string; port: number };
      writeFileSync(file, JSON.stringify({ password, port }));
      const first = await start();
      const { url, logins } = first;
      expect(new URL(url).password).toBe(password);
      const passwords = [logins.service.password, logins.reader.password];
      for (const one of passwords) expect(one).toMatch(/^[0-9a-f]{48}$/);
      expect(new Set([password, ...passwords]).size).toBe(3);
      expect(statSync(file).mode & 0o777).toBe(0o600);
      await prepareRoles(url, { ours: logins });
      await first.stop();
      const second = await start();
      expect(second.logins).toEqual(logins);
      for (const login of Object.values(logins))
        expect(await query(byLogin(second.url, login), 'select session_user::text as user')).toEqual([
          { user: login.name },
        ]);
    });
  });

  itOnce('names the missing file when the password is gone', async () => {
    const { dataDir, stop } = await start();
    await stop();
    rmSync(path.join(dataDir, 'postgresql.json'));
    await expect(start()).rejects.toThrow(
      'postgresql.json, which holds the passwords of the cluster beside it, is missing',
    );
  });

  inLong(() => {
    it('cleans up an interrupted first start', async () => {
      options.dataDir = path.join(folder, 'new');
      const half = path.join(options.dataDir, 'postgresql.new-4194305', 'data'); // above the highest process number
      mkdirSync(half, { recursive: true });
      chmodSync(options.dataDir, 0o755);
      const { url } = await start();
      expect(await query(url, 'select 1 as one')).toEqual([{ one: 1 }]);
      expect(readdirSync(options.dataDir).filter((name) => name.includes('.new-'))).toEqual([]);
    });
  });

  itOnce('leaves nothing of a temporary folder', async () => {
    const server = await startTemporaryPostgres('drive');
    servers.push(server);
    const pid = postmasterPid(server.dataDir);
    expect(await query(server.url, 'show fsync')).toEqual([{ fsync: 'off' }]);
    await server.stop();
    expect(existsSync(server.dataDir)).toBe(false);
    expect(isAlive(pid)).toBe(false);
  });

  itOnce('keeps its log in the data folder', async () => {
    const { dataDir } = await start();
    expect(readFileSync(path.join(dataDir, 'postgresql.log'), 'utf8')).toContain(
      'ready to accept connections',
    );
  });
});
