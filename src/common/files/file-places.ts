import path from 'node:path';

/** Folder for files still being received, of all projects. */
export const INCOMING = 'incoming';

/** The path for a digest. A digest is 64 hexadecimal digits and comes from the database or from hashing. */
export const filePath = (folder: string, projectId: number, digest: string): string =>
  path.join(folder, String(projectId), digest.slice(0, 2), digest.slice(2, 4), digest);
