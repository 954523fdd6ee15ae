import { writeFile } from 'node:fs/promises';

/** Writes a file that does not exist yet. @returns false, and says so on stderr, when it does */
export const writeNew = async (file: string, content: string | Buffer): Promise<boolean> => {
  try {
    await writeFile(file, content, { flag: 'wx' });
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    process.stderr.write(`${file} exists: name a new file.\n`);
    return false;
  }
};
