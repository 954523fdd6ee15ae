import { accessSync, constants, statfsSync } from 'node:fs';
import os from 'node:os';

const MEMORY = '/dev/shm';

/** Space needed by a run and its longest tests, with a margin left for the machine. [bytes] */
const ROOM = 4 * 1024 ** 3;
const LEFT = 2 * 1024 ** 3;

/**
 * Folder for the databases and files of a run: in memory, where Linux has room. A database is 2,000 files: creating and removing them takes
 * up to a second of processor time on a shared disk, and a seventh of that in memory.
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
