import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import {
  closeSync,
  existsSync,
  mkdirSync,
  openSync,
  readdirSync,
  readlinkSync,
  rmSync,
  statfsSync,
  writeSync,
} from 'node:fs';
import { once } from 'node:events';
import path from 'node:path';

const AS_ROOT = process.getuid?.() === 0;

/** The mount is private and disappears with the last process that sees it; other users than root create it as root of a namespace. */
const UNSHARE = AS_ROOT ? ['--mount'] : ['--mount', '--map-current-user', '--keep-caps'];
const ENTER = AS_ROOT ? [] : ['--user', '--preserve-credentials'];

/** Mount namespace of a process; undefined if it has ended or may not be inspected. */
const namespaceOf = (pid: number): string | undefined => {
  try {
    return readlinkSync(`/proc/${pid}/ns/mnt`);
  } catch {
    return undefined;
  }
};

const kill = (pid: number): void => {
  try {
    process.kill(pid, 'SIGKILL');
  } catch {
    // it has already ended
  }
};

/** A small file system in memory that can be filled. Processes started through it can see it. */
export class SmallDisk {
  private constructor(
    private readonly holder: ChildProcess,
    /** Its folder, for processes that see it. */
    readonly folder: string,
  ) {}

  /** @returns undefined where the operating system does not permit it */
  static async make(folder: string, megabytes: number): Promise<SmallDisk | undefined> {
    if (process.platform !== 'linux' || spawnSync('nsenter', ['--version']).status !== 0) return undefined;
    mkdirSync(folder);
    const mount = `mount -t tmpfs -o size=${megabytes}m,mode=755 none "$0" && echo ready && exec cat`;
    const holder = spawn('unshare', [...UNSHARE, 'sh', '-c', mount, folder], {
      stdio: ['pipe', 'pipe', 'ignore'],
    });
    const ready = once(holder.stdout, 'data').then(
      () => true,
      () => false,
    );
    const failed = once(holder, 'close').then(
      () => false,
      () => false,
    );
    return (await Promise.race([ready, failed])) ? new SmallDisk(holder, folder) : undefined;
  }

  /** The command line with which a process sees it. */
  seeing(command: string, args: string[]): [string, string[]] {
    return ['nsenter', ['--target', String(this.holder.pid), ...ENTER, '--mount', '--', command, ...args]];
  }

  /** The path of one of its files for processes that do not see it. */
  outside(file: string): string {
    return path.join('/proc', String(this.holder.pid), 'root', this.folder, file);
  }

  get freeBytes(): number {
    const { bavail, bsize } = statfsSync(this.outside('.'));
    return bavail * bsize;
  }

  /** Fills it to the last byte. */
  fill(): void {
    const file = openSync(this.outside('ballast'), 'a');
    let bytes = 1024 * 1024;
    while (bytes > 0)
      try {
        writeSync(file, Buffer.alloc(bytes));
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code !== 'ENOSPC') throw error;
        bytes = Math.floor(bytes / 16);
      }
    closeSync(file);
  }

  free(): void {
    if (existsSync(this.outside('ballast'))) rmSync(this.outside('ballast'));
  }

  /** Removes it, with every process that sees it. */
  async end(): Promise<void> {
    const { exitCode, signalCode } = this.holder;
    if (exitCode !== null || signalCode !== null) return;
    const over = once(this.holder, 'exit');
    for (const pid of this.seers()) kill(pid);
    await over;
  }

  /** Processes in its mount namespace, the holder last. */
  private seers(): number[] {
    const holder = this.holder.pid ?? 0;
    const namespace = namespaceOf(holder);
    const others = readdirSync('/proc')
      .map(Number)
      .filter((pid) => pid > 0 && pid !== holder && namespaceOf(pid) === namespace);
    return [...others, holder];
  }
}
