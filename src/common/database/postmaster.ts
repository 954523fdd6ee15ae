import { existsSync, readFileSync, rmSync } from 'node:fs';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';

/** What the file postmaster.pid says. The status is written after postmaster.opts, so with it that file is current. */
export interface Postmaster {
  pid: number;
  status: string;
}

const read = (file: string): string => {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    if (['ENOENT', 'ESRCH'].includes((error as NodeJS.ErrnoException).code ?? '')) return '';
    throw error;
  }
};

/** The text after the command of /proc/<pid>/stat: state first, start time twentieth. Empty without /proc. */
const statOf = (pid: number): string[] =>
  read(`/proc/${pid}/stat`)
    .replace(/^.*\) /s, '')
    .split(' ');

/** Whether the process exists; one that has ended and waits for its parent does not count. */
export function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
  return statOf(pid)[0] !== 'Z';
}

/** Names a process beyond the reuse of its number: pid and, where /proc tells it, its start time. */
export const processMark = (pid: number): string => `${pid}-${statOf(pid)[19] ?? ''}`;

const lives = (mark: string): boolean => {
  const pid = Number.parseInt(mark, 10);
  return isAlive(pid) && processMark(pid) === mark;
};

export function readPostmaster(cluster: string): Postmaster | undefined {
  const lines = read(path.join(cluster, 'postmaster.pid')).split('\n');
  const pid = Number.parseInt(lines[0] ?? '', 10);
  return pid > 0 ? { pid, status: (lines[7] ?? '').trim() } : undefined;
}

/** Whether the process is a PostgreSQL server; where /proc does not tell, a living process is taken for one. */
function isPostgres(pid: number): boolean {
  if (!isAlive(pid)) return false;
  const command = read(`/proc/${pid}/cmdline`).split('\0')[0] ?? '';
  return command === '' || path.basename(command) === 'postgres';
}

/** Whether a server runs on the cluster, takes connections, and is still in somebody's use. */
export function isServing(cluster: string): boolean {
  const found = readPostmaster(cluster);
  if (found?.status !== 'ready' || !isPostgres(found.pid)) return false;
  const owner = ownerMark(cluster);
  return owner === undefined || lives(owner);
}

/** Who started the running server: the mark that was put on its command line. */
const ownerMark = (cluster: string): string | undefined =>
  /drivebook\.owner=([\d-]+)/.exec(read(path.join(cluster, 'postmaster.opts')))?.[1];

/** Waits until the condition holds. @returns whether it did in time */
export async function waitUntil(condition: () => boolean, limitMs: number): Promise<boolean> {
  const end = Date.now() + limitMs;
  while (!condition()) {
    if (Date.now() > end) return false;
    await pause(20);
  }
  return true;
}

/**
 * Makes way for a new server on the cluster: takes away the note of one that is dead, and stops one whose
 * owner is dead. A server somebody still uses is left alone.
 * @throws Error naming the process that holds the folder
 */
export async function makeWay(cluster: string, dataDir: string): Promise<void> {
  const found = readPostmaster(cluster);
  if (!found) return;
  if (!isPostgres(found.pid)) {
    // PostgreSQL would refuse when the number now belongs to some other program, as it may after a power cut.
    rmSync(path.join(cluster, 'postmaster.pid'), { force: true });
    return;
  }
  await waitUntil(() => readPostmaster(cluster)?.status !== '', 10_000);
  const running = readPostmaster(cluster);
  if (!running) return;
  const owner = ownerMark(cluster);
  if (owner === undefined || lives(owner)) throw heldError(dataDir, running.pid, owner);
  try {
    process.kill(running.pid, 'SIGINT');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ESRCH') throw heldError(dataDir, running.pid, undefined);
  }
  if (!(await waitUntil(() => !isAlive(running.pid), 60_000)))
    throw heldError(dataDir, running.pid, undefined);
}

export const heldError = (dataDir: string, pid: number, owner: string | undefined): Error => {
  const by = owner === undefined ? '' : `, started by process ${Number.parseInt(owner, 10)}`;
  return new Error(
    `The data folder ${dataDir} is in use by PostgreSQL process ${pid}${by}: stop that one first, or name another folder by DATA_DIR.`,
  );
};

/** The error for a server that ended at once, when another one had taken the cluster meanwhile. */
export function heldByOther(cluster: string, dataDir: string): Error | undefined {
  const other = existsSync(cluster) ? readPostmaster(cluster) : undefined;
  return other && isPostgres(other.pid) ? heldError(dataDir, other.pid, ownerMark(cluster)) : undefined;
}
