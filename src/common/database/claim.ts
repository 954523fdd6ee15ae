import { createHash } from 'node:crypto';
import { closeSync, linkSync, openSync, readFileSync, readlinkSync, rmSync, write, writeSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { inUse, isMarkAlive, processMark } from './postmaster.js';

// Process numbers say nothing of another container or machine that has the same data folder mounted. Two servers on one folder destroy
// it, and PostgreSQL notices only where both share memory. So who uses a folder claims it by a file that keeps changing.

const BEAT_MS = 2000;

/** How long a start looks for a sign of life of who claimed the folder elsewhere: several beats, as a disk may be slow. */
const WATCH_MS = 15_000;

const fileOf = (dataDir: string): string => path.join(dataDir, 'postgresql.claim');

const origin = (): string => {
  try {
    const boot = readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
    return `${boot} ${readlinkSync('/proc/self/ns/pid')}`;
  } catch {
    return os.hostname(); // no /proc
  }
};

/** Names where process numbers have one meaning: a machine since it was started, and in it a container. */
const placeMark = (): string => createHash('sha256').update(origin()).digest('hex').slice(0, 16);

interface Claim {
  text: string;
  place: string;
  process: string;
}

const readClaim = (dataDir: string): Claim | undefined => {
  try {
    const text = readFileSync(fileOf(dataDir), 'utf8');
    const [place = '', process = ''] = text.split(' ');
    return { text, place, process };
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
};

const heldElsewhere = (dataDir: string): Error =>
  new Error(
    `The data folder ${dataDir} is in use by a service in another container or on another machine: run commands there, stop that service first, or name another folder by DATA_DIR.`,
  );

/** Whether the folder is claimed where other process numbers hold: in another container, on another machine, or before this one was started again. */
export const isClaimedElsewhere = (dataDir: string): boolean => {
  const claim = readClaim(dataDir);
  return claim !== undefined && claim.place !== placeMark();
};

/**
 * Gives up a claim made elsewhere that shows no sign of life.
 * @param watchMs  how long to look for one [ms]
 * @throws Error when there is one
 */
export const clearClaimElsewhere = async (dataDir: string, watchMs = WATCH_MS): Promise<void> => {
  const first = readClaim(dataDir);
  const end = Date.now() + watchMs;
  while (Date.now() < end) {
    await pause(100);
    const now = readClaim(dataDir);
    if (now === undefined) return;
    if (now.text !== first?.text) throw heldElsewhere(dataDir);
  }
  rmSync(fileOf(dataDir), { force: true });
};

/** Who claims: the same at every beat. */
const ownMark = (): string => `${placeMark()} ${processMark(process.pid)}`;

const textOf = (mark: string): string => `${mark} ${Date.now()}`;

/** Makes the file whole or not at all. @returns undefined where there is one */
const create = (dataDir: string, mark: string): number | undefined => {
  const half = `${fileOf(dataDir)}.${processMark(process.pid)}`;
  const file = openSync(half, 'w', 0o600);
  try {
    writeSync(file, textOf(mark));
    linkSync(half, fileOf(dataDir));
    return file;
  } catch (error) {
    closeSync(file);
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return undefined;
    throw error;
  } finally {
    rmSync(half, { force: true });
  }
};

/** Keeps the file changing. @returns ends it, and closes the file once nothing is being written */
const keepBeating = (file: number, mark: string): (() => void) => {
  let [isWriting, isOver] = [false, false];
  const written = (): void => {
    isWriting = false;
    if (isOver) closeSync(file);
  };
  const beat = (): void => {
    if (isWriting) return;
    isWriting = true;
    write(file, textOf(mark), 0, written); // over the last one, which is as long: a full disk does not stop it
  };
  const timer = setInterval(beat, BEAT_MS).unref();
  return () => {
    clearInterval(timer);
    isOver = true;
    if (!isWriting) closeSync(file);
  };
};

/**
 * Claims the folder for this process.
 * @returns gives it back
 * @throws Error when another process has it
 */
export const claimFolder = (dataDir: string): (() => void) => {
  const kept = readClaim(dataDir);
  // a process that was killed leaves its claim
  if (kept?.place === placeMark() && !isMarkAlive(kept.process)) rmSync(fileOf(dataDir), { force: true });
  const mark = ownMark();
  const file = create(dataDir, mark);
  if (file === undefined) {
    if (isClaimedElsewhere(dataDir)) throw heldElsewhere(dataDir);
    const other = Number.parseInt(readClaim(dataDir)?.process ?? '', 10);
    throw inUse(dataDir, `process ${other}`);
  }
  const endBeating = keepBeating(file, mark);
  return () => {
    endBeating();
    rmSync(fileOf(dataDir), { force: true });
  };
};
