import { writeFile } from 'node:fs/promises';
import { existsAlready } from '../common/files/disk.js';

/** Writes a new file. @returns false, with a message on stderr, if it exists */
export const writeNew = async (file: string, content: string | Buffer): Promise<boolean> => {
  try {
    await writeFile(file, content, { flag: 'wx' });
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    process.stderr.write(`${existsAlready(file)}\n`);
    return false;
  }
};
