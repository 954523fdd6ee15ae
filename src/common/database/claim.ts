import { createHash } from 'node:crypto';
import { closeSync, linkSync, openSync, readFileSync, readlinkSync, rmSync, write, writeSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { inUse, isMarkAlive, processMark } from './postmaster.js';

// Process numbers mean nothing in another container or on another machine that mounts the same data folder. Two servers on one
// folder destroy it, and PostgreSQL notices only where both share memory. So a user of a folder claims it by a file that keeps changing.

const BEAT_MS = 2000;

/** How long a start watches for a sign of life of a claim made elsewhere: several beats, as a disk may be slow. */
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

/** Identifies where process numbers are valid: one boot of a machine and, within it, a container. */
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

/** Whether the folder is claimed in another process number space: another container, another machine, or before this one rebooted. */
export const isClaimedElsewhere = (dataDir: string): boolean => {
  const claim = readClaim(dataDir);
  return claim !== undefined && claim.place !== placeMark();
};

/**
 * Removes a claim made elsewhere that shows no sign of life.
 * @param watchMs  how long to watch for one [ms]
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

/** The claimant: the same at every beat. */
const ownMark = (): string => `${placeMark()} ${processMark(process.pid)}`;

const textOf = (mark: string): string => `${mark} ${Date.now()}`;

/** Creates the file with its whole content or not at all. @returns undefined if it exists */
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

/** A claim on a folder, kept alive until it is released. */
export interface FolderClaim {
  /** Resolves when another service has taken the folder over, which can happen while this process is suspended. */
  lost: Promise<Error>;
  /** @throws Error when another service has taken the folder over */
  assertHeld(): void;
  /** Ends the claim; a lost claim belongs to the other service and is left alone. */
  giveBack(): void;
}

const takenOver = (dataDir: string): Error =>
  new Error(
    `The data folder ${dataDir} was taken over by another service while this one was suspended: this one stops, and can be started again once the other is stopped.`,
  );

class HeldClaim implements FolderClaim {
  readonly lost: Promise<Error>;
  private lose!: (error: Error) => void;
  private isWriting = false;
  private isOver = false;
  private readonly timer: NodeJS.Timeout;

  constructor(
    private readonly dataDir: string,
    private readonly file: number,
    private readonly mark: string,
  ) {
    this.lost = new Promise((resolve) => (this.lose = resolve));
    this.timer = setInterval(() => this.beat(), BEAT_MS).unref();
  }

  assertHeld(): void {
    if (!this.isHeld()) throw takenOver(this.dataDir);
  }

  giveBack(): void {
    const isHeld = this.isHeld();
    this.end();
    if (isHeld) rmSync(fileOf(this.dataDir), { force: true });
  }

  /** A service that takes over removes the file and creates another, which our open file would not show. */
  private isHeld(): boolean {
    try {
      return readClaim(this.dataDir)?.text.startsWith(`${this.mark} `) ?? false;
    } catch {
      return true; // a read error now is no sign of a takeover
    }
  }

  private beat(): void {
    if (!this.isHeld()) {
      this.end();
      this.lose(takenOver(this.dataDir));
      return;
    }
    if (this.isWriting) return;
    this.isWriting = true;
    // overwrites text of the same length, so it works on a full disk
    write(this.file, textOf(this.mark), 0, () => {
      this.isWriting = false;
      if (this.isOver) closeSync(this.file);
    });
  }

  /** Stops the beat, and closes the file once no write is in progress. */
  private end(): void {
    if (this.isOver) return;
    clearInterval(this.timer);
    this.isOver = true;
    if (!this.isWriting) closeSync(this.file);
  }
}

/**
 * Claims the folder for this process.
 * @throws Error when another process holds it
 */
export const claimFolder = (dataDir: string): FolderClaim => {
  const kept = readClaim(dataDir);
  // a killed process leaves its claim behind
  if (kept?.place === placeMark() && !isMarkAlive(kept.process)) rmSync(fileOf(dataDir), { force: true });
  const mark = ownMark();
  const file = create(dataDir, mark);
  if (file !== undefined) return new HeldClaim(dataDir, file, mark);
  if (isClaimedElsewhere(dataDir)) throw heldElsewhere(dataDir);
  const other = Number.parseInt(readClaim(dataDir)?.process ?? '', 10);
  throw inUse(dataDir, `process ${other}`);
};
