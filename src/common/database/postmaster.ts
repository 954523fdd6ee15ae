import { existsSync, readdirSync, readFileSync, readlinkSync, realpathSync, rmSync } from 'node:fs';
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

/** Names a process beyond the reuse of its number: pid and, where /proc shows it, its start time. */
export const processMark = (pid: number): string => `${pid}-${statOf(pid)[19] ?? ''}`;

/** Whether the process of a mark made here still runs. */
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
    return ''; // no /proc, a process that has ended, or one that may not be looked into
  }
};

/**
 * Whether the process is a PostgreSQL server of the cluster: its number may have passed on to another program, or to the
 * server of another folder. Where /proc does not tell, a living process is taken for one.
 */
function servesCluster(pid: number, cluster: string): boolean {
  if (!isAlive(pid)) return false;
  const command = read(`/proc/${pid}/cmdline`).split('\0')[0] ?? '';
  if (command !== '' && !/^postgres\b/.test(path.basename(command))) return false;
  const folder = target(`/proc/${pid}/cwd`);
  return folder === '' || folder === realpathSync(cluster);
}

/**
 * Server processes of the cluster that outlived their postmaster: they end by themselves when they notice, and hold its
 * shared memory until then, so that no new server starts. Empty without /proc.
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

/** How long each way of stopping a server may take. [ms] */
export interface StopPatience {
  /** Until its statements are cancelled and its memory is written out. */
  fastMs: number;
  /** Until it has ended without that; the next start recovers. */
  immediateMs: number;
}

/** Stops a server: fast, then immediately, then by force. @returns whether it has ended */
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

/** Processes whose parent it is. Empty without /proc. */
const childrenOf = (parent: number): number[] =>
  existsSync('/proc/self/stat')
    ? readdirSync('/proc')
        .map(Number)
        .filter((pid) => pid > 0 && statOf(pid)[1] === String(parent))
    : [];

/**
 * Ends a server and its processes by force, so that none of them writes to its folder again: asked to stop, even
 * immediately, it would remove the note of the server that runs there now.
 */
export const killServer = (postmaster: number): void => {
  const children = childrenOf(postmaster);
  for (const pid of [postmaster, ...children]) signal(pid, 'SIGKILL');
};

/** Waits for the processes that outlived their postmaster, and ends those that do not notice. */
export async function clearOrphans(cluster: string): Promise<void> {
  if (await waitUntil(() => orphansOf(cluster).length === 0, 3000)) return;
  for (const pid of orphansOf(cluster)) signal(pid, 'SIGKILL'); // without a postmaster their work is lost already
  await waitUntil(() => orphansOf(cluster).length === 0, 5000);
}

/** Whether a server runs on the cluster, takes connections, and is still in somebody's use. */
export function isServing(cluster: string): boolean {
  const found = readPostmaster(cluster);
  if (found?.status !== 'ready' || !servesCluster(found.pid, cluster)) return false;
  const owner = ownerMark(cluster);
  return owner === undefined || isMarkAlive(owner);
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

/** A server that is left behind may have much to write out. */
const LEFT_BEHIND: StopPatience = { fastMs: 30_000, immediateMs: 5000 };

/**
 * Makes way for a new server on the cluster: takes away the note of one that is dead, waits for what it left running, and
 * stops a server whose owner is dead. A server somebody still uses is left alone.
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
  // PostgreSQL would refuse when the number now belongs to some other program, as it may after a power cut.
  if (!servesCluster(found.pid, cluster)) forgetPostmaster(cluster);
}

/** Takes away the note of a server that is dead. */
export const forgetPostmaster = (cluster: string): void =>
  rmSync(path.join(cluster, 'postmaster.pid'), { force: true });

/** The error for a folder that somebody uses on this machine. */
export const inUse = (dataDir: string, by: string): Error =>
  new Error(
    `The data folder ${dataDir} is in use by ${by}: stop that one first, or name another folder by DATA_DIR.`,
  );

const heldError = (dataDir: string, pid: number, owner: string | undefined): Error => {
  const by = owner === undefined ? '' : `, started by process ${Number.parseInt(owner, 10)}`;
  return inUse(dataDir, `PostgreSQL process ${pid}${by}`);
};

/** The error for a server that ended at once, when another one had taken the cluster meanwhile. */
export function heldByOther(cluster: string, dataDir: string): Error | undefined {
  const other = existsSync(cluster) ? readPostmaster(cluster) : undefined;
  return other && servesCluster(other.pid, cluster)
    ? heldError(dataDir, other.pid, ownerMark(cluster))
    : undefined;
}
