import { execFileSync } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import {
  chownSync,
  existsSync,
  linkSync,
  mkdirSync,
  readFileSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { createServer } from 'node:net';
import path from 'node:path';
import { isAlive } from './postmaster.js';
import { isRoot, type RunAs } from './run-as.js';

/** Access data kept beside the cluster, in a file that only its owner can read. */
interface Access {
  /** Password of the superuser. */
  password: string;
  servicePassword: string;
  readerPassword: string;
  port: number;
}

const newPassword = (): string => randomBytes(24).toString('hex');

const newPasswords = (): Omit<Access, 'port'> => ({
  password: newPassword(),
  servicePassword: newPassword(),
  readerPassword: newPassword(),
});

/** The superuser of an embedded cluster. */
export const SUPERUSER = 'drivebook';

/** The paths inside a data folder. */
export const clusterPaths = (dataDir: string) => ({
  cluster: path.join(dataDir, 'postgresql'),
  access: path.join(dataDir, 'postgresql.json'),
  log: path.join(dataDir, 'postgresql.log'),
});

/** Root runs an existing cluster as its owner, so that a folder can pass between root and a user. */
export const ownerOf = (cluster: string): RunAs | undefined => {
  if (!isRoot() || !existsSync(cluster)) return undefined;
  const { uid, gid } = statSync(cluster);
  return uid === 0 ? undefined : { uid, gid };
};

const freePort = (wanted: number): Promise<number> =>
  new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', () =>
      wanted === 0 ? reject(new Error('No port is free on 127.0.0.1.')) : resolve(freePort(0)),
    );
    probe.listen(wanted, '127.0.0.1', () => {
      const { port } = probe.address() as { port: number };
      probe.close(() => resolve(port));
    });
  });

/** Writes a temporary file and renames it: readers see the old text or the new one. */
function writeAccess(file: string, access: Access, overwrite: boolean): void {
  const half = `${file}.${process.pid}`;
  writeFileSync(half, `${JSON.stringify(access)}\n`, { mode: 0o600 });
  if (overwrite) {
    const { uid, gid } = statSync(file);
    chownSync(half, uid, gid); // a start by root must not lock out the owner of the cluster
    return renameSync(half, file);
  }
  try {
    linkSync(half, file); // fails if another process created it first: both then use that one
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  } finally {
    rmSync(half);
  }
}

/** Access data of an existing cluster. @throws Error when the file is missing or cannot be read */
export function keptAccess(dataDir: string): Access {
  const { access: file } = clusterPaths(dataDir);
  return JSON.parse(readFileSync(file, 'utf8')) as Access;
}

/**
 * The passwords and a free port of the cluster; the port stays the same between starts unless another process takes it. A file
 * from before the service had its own login is completed.
 * @throws Error when the cluster exists and its password file does not
 */
export async function clusterAccess(dataDir: string): Promise<Access> {
  const { cluster, access: file } = clusterPaths(dataDir);
  if (!existsSync(file)) {
    if (existsSync(cluster))
      throw new Error(
        `${file}, which holds the passwords of the cluster beside it, is missing: put it back from a backup.`,
      );
    writeAccess(file, { ...newPasswords(), port: 0 }, false);
  }
  const kept = JSON.parse(readFileSync(file, 'utf8')) as Partial<Access> & Pick<Access, 'port'>;
  const access = { ...newPasswords(), ...kept, port: await freePort(kept.port) };
  const complete = Object.keys(access).every((name) => name in kept);
  if (!complete || access.port !== kept.port) writeAccess(file, access, true);
  return access;
}

/**
 * Creates the cluster unless it exists. It is made in a temporary folder and moved into place at the end, so that an interrupted
 * start leaves nothing half made.
 */
export function makeCluster(
  dataDir: string,
  initdb: string,
  runAs: RunAs,
  password: string,
  durable: boolean,
): void {
  const { cluster } = clusterPaths(dataDir);
  if (existsSync(cluster)) return;
  const prefix = 'postgresql.new-';
  for (const name of readdirSync(dataDir)) {
    if (name.startsWith(prefix) && !isAlive(Number(name.slice(prefix.length))))
      rmSync(path.join(dataDir, name), { recursive: true });
  }
  const half = path.join(dataDir, `${prefix}${process.pid}`);
  const passwordFile = `${half}/password`;
  const pgdata = `${half}/data`;
  try {
    mkdirSync(pgdata, { recursive: true, mode: 0o700 });
    writeFileSync(passwordFile, `${password}\n`, { mode: 0o600 });
    if (runAs.uid !== undefined && runAs.gid !== undefined) {
      for (const made of [half, pgdata, passwordFile]) chownSync(made, runAs.uid, runAs.gid);
    }
    const locale = ['--encoding=UTF8', '--locale=C', '--locale-provider=builtin', '--builtin-locale=C.UTF-8'];
    const access = [`--username=${SUPERUSER}`, `--pwfile=${passwordFile}`, '--auth=scram-sha-256'];
    const safety = durable ? [] : ['--no-sync'];
    execFileSync(initdb, [`--pgdata=${pgdata}`, ...locale, ...access, ...safety], {
      ...runAs,
      cwd: '/',
      stdio: 'pipe',
    });
    renameSync(pgdata, cluster);
  } catch (error) {
    if (!existsSync(cluster)) throw error;
  } finally {
    rmSync(half, { recursive: true, force: true });
  }
}
