import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';

/** SHA-256 of a file, read piece by piece. @throws Error of the file system */
export const sha256Of = async (file: string): Promise<string> => {
  const hash = createHash('sha256');
  await pipeline(createReadStream(file), hash);
  return hash.digest('hex');
};

/** Makes the names in a folder durable; Windows has no such thing. @throws Error of the file system */
export const syncFolder = async (folder: string): Promise<void> => {
  if (process.platform === 'win32') return;
  const handle = await open(folder, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
};

/** The same where the file system can: not every one lets a folder be synced. */
export const trySyncFolder = (folder: string): Promise<void> => syncFolder(folder).catch(() => undefined);
