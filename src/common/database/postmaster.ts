import { existsSync, readdirSync, readFileSync, readlinkSync, realpathSync, rmSync } from 'node:fs';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';

/** The content of postmaster.pid. Its status is written after postmaster.opts, so if it has one, that file is current. */
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

/** The fields after the command in /proc/<pid>/stat: state is the first, start time the twentieth. Empty without /proc. */
const statOf = (pid: number): string[] =>
  read(`/proc/${pid}/stat`)
    .replace(/^.*\) /s, '')
    .split(' ');

/** Whether the process exists; a zombie does not count. */
export function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
  return statOf(pid)[0] !== 'Z';
}

/** Identifies a process even if its number is reused: pid and, where /proc shows it, start time. */
export const processMark = (pid: number): string => `${pid}-${statOf(pid)[19] ?? ''}`;

/** Whether the process of a mark made here is still running. */
export const isMarkAlive = (mark: string): boolean => {
  const pid = Number.parseInt(mark, 10);
  return isAlive(pid) && processMark(pid) === mark;
};

export function readPostmaster(cluster: string): Postmaster | undefined {
  const lines = read(path.join(cluster, 'postmaster.pid')).split('\n');
  const pid = Number.parseInt(lines[0] ?? '', 10);
  return pid > 0 ? { pid, status: (lines[7] ?? '').trim() } : undefined;
}

const target = (link: string): string => {
  try {
    return readlinkSync(link);
  } catch {
    return ''; // no /proc, the process has ended, or we may not inspect it
  }
};

/**
 * Whether the process is a PostgreSQL server of this cluster: its number may have been reused by another program, or by the server
 * of another folder. Where /proc gives no answer, a living process counts as one.
 */
function servesCluster(pid: number, cluster: string): boolean {
  if (!isAlive(pid)) return false;
  const command = read(`/proc/${pid}/cmdline`).split('\0')[0] ?? '';
  if (command !== '' && !/^postgres\b/.test(path.basename(command))) return false;
  const folder = target(`/proc/${pid}/cwd`);
  return folder === '' || folder === realpathSync(cluster);
}

/**
 * Server processes of the cluster that outlived their postmaster: they end once they notice, and until then hold its shared
 * memory, so no new server can start. Empty without /proc.
 */
export const orphansOf = (cluster: string): number[] => {
  if (!existsSync('/proc/self/cwd')) return [];
  const folder = realpathSync(cluster);
  return readdirSync('/proc')
    .map(Number)
    .filter((pid) => pid > 0 && target(`/proc/${pid}/cwd`) === folder && servesCluster(pid, cluster));
};

const signal = (pid: number, name: NodeJS.Signals): void => {
  try {
    process.kill(pid, name);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ESRCH') throw error;
  }
};

/** Time limits of the ways to stop a server. [ms] */
export interface StopPatience {
  /** For cancelling its statements and writing its memory out. */
  fastMs: number;
  /** For ending without that; the next start recovers. */
  immediateMs: number;
}

/** Stops a server: fast, then immediate, then by force. @returns whether it has ended */
export async function stopPostmaster(pid: number, { fastMs, immediateMs }: StopPatience): Promise<boolean> {
  const steps: [NodeJS.Signals, number][] = [
    ['SIGINT', fastMs],
    ['SIGQUIT', immediateMs],
    ['SIGKILL', 5000],
  ];
  for (const [name, limitMs] of steps) {
    signal(pid, name);
    if (await waitUntil(() => !isAlive(pid), limitMs)) return true;
  }
  return false;
}

/** Child processes of a process. Empty without /proc. */
const childrenOf = (parent: number): number[] =>
  existsSync('/proc/self/stat')
    ? readdirSync('/proc')
        .map(Number)
        .filter((pid) => pid > 0 && statOf(pid)[1] === String(parent))
    : [];

/**
 * Kills a server and its processes, so that none of them writes to its folder again. A stop, even an immediate one, would delete
 * the postmaster.pid of the server that now runs there.
 */
export const killServer = (postmaster: number): void => {
  const children = childrenOf(postmaster);
  for (const pid of [postmaster, ...children]) signal(pid, 'SIGKILL');
};

/** Waits for processes that outlived their postmaster, and kills those that do not end. */
export async function clearOrphans(cluster: string): Promise<void> {
  if (await waitUntil(() => orphansOf(cluster).length === 0, 3000)) return;
  for (const pid of orphansOf(cluster)) signal(pid, 'SIGKILL'); // their work is already lost with the postmaster
  await waitUntil(() => orphansOf(cluster).length === 0, 5000);
}

/** Whether a server runs on the cluster, accepts connections and still has an owner. */
export function isServing(cluster: string): boolean {
  const found = readPostmaster(cluster);
  if (found?.status !== 'ready' || !servesCluster(found.pid, cluster)) return false;
  const owner = ownerMark(cluster);
  return owner === undefined || isMarkAlive(owner);
}

/** The owner of the running server: the mark on its command line. */
const ownerMark = (cluster: string): string | undefined =>
  /drivebook\.owner=([\d-]+)/.exec(read(path.join(cluster, 'postmaster.opts')))?.[1];

/** Waits until the condition holds. @returns whether it did within the limit */
export async function waitUntil(condition: () => boolean, limitMs: number): Promise<boolean> {
  const end = Date.now() + limitMs;
  while (!condition()) {
    if (Date.now() > end) return false;
    await pause(20);
  }
  return true;
}

/** A server left behind may have much to write out. */
const LEFT_BEHIND: StopPatience = { fastMs: 30_000, immediateMs: 5000 };

/**
 * Makes way for a new server on the cluster: deletes the postmaster.pid of a dead one, waits for its remaining processes, and
 * stops a server whose owner is dead. A server still in use is left alone.
 * @throws Error naming the process that holds the folder
 */
export async function makeWay(cluster: string, dataDir: string): Promise<void> {
  const found = readPostmaster(cluster);
  if (!found) return;
  if (servesCluster(found.pid, cluster)) {
    await waitUntil(() => readPostmaster(cluster)?.status !== '', 10_000);
    const running = readPostmaster(cluster);
    if (!running) return;
    const owner = ownerMark(cluster);
    if (owner === undefined || isMarkAlive(owner)) throw heldError(dataDir, running.pid, owner);
    const stopped = await stopPostmaster(running.pid, LEFT_BEHIND).catch(() => false);
    if (!stopped) throw heldError(dataDir, running.pid, undefined);
  }
  await clearOrphans(cluster);
  // PostgreSQL would refuse to start if the number now belongs to another program, for instance after a power cut.
  if (!servesCluster(found.pid, cluster)) forgetPostmaster(cluster);
}

/** Deletes the postmaster.pid of a dead server. */
export const forgetPostmaster = (cluster: string): void =>
  rmSync(path.join(cluster, 'postmaster.pid'), { force: true });

/** The error for a folder that another process uses on this machine. */
export const inUse = (dataDir: string, by: string): Error =>
  new Error(
    `The data folder ${dataDir} is in use by ${by}: stop that one first, or name another folder by DATA_DIR.`,
  );

const heldError = (dataDir: string, pid: number, owner: string | undefined): Error => {
  const by = owner === undefined ? '' : `, started by process ${Number.parseInt(owner, 10)}`;
  return inUse(dataDir, `PostgreSQL process ${pid}${by}`);
};

/** The error for a server that ended at once because another one had taken the cluster in the meantime. */
export function heldByOther(cluster: string, dataDir: string): Error | undefined {
  const other = existsSync(cluster) ? readPostmaster(cluster) : undefined;
  return other && servesCluster(other.pid, cluster)
    ? heldError(dataDir, other.pid, ownerMark(cluster))
    : undefined;
}
