import { accessSync, constants, statfsSync } from 'node:fs';
import os from 'node:os';

const MEMORY = '/dev/shm';

/** What a run and its longest tests need there, and what the machine then has left. [bytes] */
const ROOM = 4 * 1024 ** 3;
const LEFT = 2 * 1024 ** 3;

/**
 * Where a run keeps its databases and files: in memory, where Linux has room for them there. A database is 2,000 files: to make and
 * remove them takes up to a second of processor time on a disk that others use too, and a seventh of that in memory.
 */
export const runFolder = () => {
  if (process.env.TMPDIR !== undefined) return process.env.TMPDIR;
  try {
    accessSync(MEMORY, constants.W_OK);
    const { bavail, bsize } = statfsSync(MEMORY);
    const memory = Math.min(os.freemem(), process.constrainedMemory() || Infinity);
    return bavail * bsize >= ROOM && memory >= ROOM + LEFT ? MEMORY : os.tmpdir();
  } catch {
    return os.tmpdir();
  }
};
