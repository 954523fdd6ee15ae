import { createHash } from 'node:crypto';
import {
  closeSync,
  constants,
  existsSync,
  openSync,
  readFileSync,
  readlinkSync,
  rmSync,
  write,
} from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';

// Process numbers say nothing of another container or machine that has the same data folder mounted. Two servers on one folder destroy
// it, and PostgreSQL notices only where both share memory. So a service shows that it is alive by a file that keeps changing.

const BEAT_MS = 2000;

/** How long a start looks for a sign of life: several beats, as a disk may be slow. */
export const WATCH_MS = 15_000;

const fileOf = (dataDir: string): string => path.join(dataDir, 'postgresql.alive');

const origin = (): string => {
  try {
    const boot = readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
    return `${boot} ${readlinkSync('/proc/self/ns/pid')}`;
  } catch {
    return os.hostname(); // no /proc
  }
};

/** Names where process numbers have one meaning: a machine since it was started, and in it a container. */
export const placeMark = (): string => createHash('sha256').update(origin()).digest('hex').slice(0, 16);

/** Shows that this process uses the folder. @returns ends it */
export const showLife = (dataDir: string): (() => void) => {
  const file = openSync(fileOf(dataDir), constants.O_WRONLY | constants.O_CREAT, 0o600);
  let isOpen = true;
  const beat = (): void => {
    // of one length, over the last: a full disk does not stop it
    if (isOpen) write(file, String(Date.now()), 0, () => undefined);
  };
  beat();
  const timer = setInterval(beat, BEAT_MS).unref();
  return () => {
    if (!isOpen) return;
    isOpen = false;
    clearInterval(timer);
    closeSync(file);
    rmSync(fileOf(dataDir), { force: true });
  };
};

const lastBeat = (dataDir: string): string =>
  existsSync(fileOf(dataDir)) ? readFileSync(fileOf(dataDir), 'utf8') : '';

/** Whether a process, here or elsewhere, shows that it uses the folder. Takes the whole time where none does. */
export const showsLife = async (dataDir: string, watchMs: number): Promise<boolean> => {
  const first = lastBeat(dataDir);
  if (first === '') return false;
  const end = Date.now() + watchMs;
  while (Date.now() < end) {
    await pause(100);
    if (lastBeat(dataDir) !== first) return true;
  }
  return false;
};
