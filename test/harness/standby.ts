import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { appendFileSync, chmodSync, cpSync, mkdirSync, writeFileSync } from 'node:fs';
import { once } from 'node:events';
import { createServer, type AddressInfo } from 'node:net';
import path from 'node:path';
import pg from 'pg';
import { clusterPaths, ownerOf } from '../../src/common/database/cluster.js';
import type { EmbeddedPostgres } from '../../src/common/database/embedded-postgres.js';
import { postgresBinaries } from '../../src/common/database/postgres-binaries.js';
import { databaseUser } from '../../src/common/database/run-as.js';
import { rowsAt } from './rows-at.js';
import { until } from './until.js';

const freePort = async (): Promise<number> => {
  const probe = createServer().listen(0, '127.0.0.1');
  await once(probe, 'listening');
  const { port } = probe.address() as AddressInfo;
  probe.close();
  await once(probe, 'close');
  return port;
};

/** Files left out of a base backup. (PostgreSQL 18 documentation, 25.3.4 Making a Base Backup Using the Low Level API) */
const LEFT_OUT = /\/(postmaster\.(pid|opts)|pg_wal\/.+|pg_replslot\/.+|pg_stat_tmp\/.+)$/;

/** A streaming standby, made from a base backup by the low-level interface, because the npm package has no pg_basebackup. */
export class Standby {
  private constructor(
    private readonly server: ChildProcess,
    /** Its address, as the superuser. */
    readonly url: string,
  ) {}

  static async of(primary: EmbeddedPostgres, folder: string): Promise<Standby> {
    const cluster = path.join(folder, 'postgresql');
    await Standby.copy(primary, cluster);
    const runAs = ownerOf(clusterPaths(primary.dataDir).cluster) ?? databaseUser();
    const url = new URL(primary.url);
    const from = `host=${url.hostname} port=${url.port} user=${url.username} password=${url.password} application_name=standby`;
    writeFileSync(path.join(cluster, 'standby.signal'), '');
    appendFileSync(
      path.join(cluster, 'postgresql.auto.conf'),
      `\nprimary_conninfo = '${from}'\nsynchronous_standby_names = ''\n`,
    );
    if (runAs.uid !== undefined) spawnSync('chown', ['-R', `${runAs.uid}:${runAs.gid}`, cluster]);
    url.port = String(await freePort());
    const settings = ['listen_addresses=127.0.0.1', `port=${url.port}`, 'unix_socket_directories='];
    const { postgres } = postgresBinaries(runAs);
    const server = spawn(postgres, ['-D', cluster, ...settings.flatMap((setting) => ['-c', setting])], {
      ...runAs,
      cwd: '/',
      stdio: 'ignore',
    });
    await until(() => rowsAt(url.href, 'select 1').then(Boolean, () => false));
    return new Standby(server, url.href);
  }

  private static async copy(primary: EmbeddedPostgres, cluster: string): Promise<void> {
    const client = new pg.Client({ connectionString: primary.url });
    await client.connect();
    await client.query(`select pg_backup_start('standby', true)`);
    cpSync(clusterPaths(primary.dataDir).cluster, cluster, {
      recursive: true,
      filter: (file) => !LEFT_OUT.test(file),
    });
    const { rows } = await client.query<{ labelfile: string }>('select labelfile from pg_backup_stop()');
    await client.end();
    for (const name of ['pg_wal', 'pg_wal/archive_status', 'pg_replslot'])
      mkdirSync(path.join(cluster, name), { recursive: true });
    chmodSync(cluster, 0o700);
    writeFileSync(path.join(cluster, 'backup_label'), rows[0]?.labelfile ?? '');
  }

  /** Makes it the primary. */
  async promote(): Promise<void> {
    await rowsAt(this.url, 'select pg_promote(true, 600)');
  }

  async stop(): Promise<void> {
    if (this.server.exitCode !== null) return;
    this.server.kill('SIGQUIT');
    await once(this.server, 'exit');
  }
}
