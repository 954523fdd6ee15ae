import { createHash } from 'node:crypto';
import { createReadStream, existsSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';

/** Says that a file or folder to be written exists. */
export const existsAlready = (name: string): string => `${name} exists already: name a new one.`;

/** @throws Error when a file or folder to be written exists */
export const assertNew = (name: string): void => {
  if (existsSync(name)) throw new Error(existsAlready(name));
};

/** SHA-256 of a file, read in chunks. @throws Error of the file system */
export const sha256Of = async (file: string): Promise<string> => {
  const hash = createHash('sha256');
  await pipeline(createReadStream(file), hash);
  return hash.digest('hex');
};

/** Makes the names in a folder durable; does nothing on Windows, which cannot. @throws Error of the file system */
export const syncFolder = async (folder: string): Promise<void> => {
  if (process.platform === 'win32') return;
  const handle = await open(folder, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
};

/** The same, ignoring file systems that do not allow it. */
export const trySyncFolder = (folder: string): Promise<void> => syncFolder(folder).catch(() => undefined);
