import path from 'node:path';

/** Files that are still coming, of all projects. */
export const INCOMING = 'incoming';

/** Where the bytes of a digest lie. A digest is 64 hexadecimal digits and comes from the database or from hashing. */
export const filePath = (folder: string, projectId: number, digest: string): string =>
  path.join(folder, String(projectId), digest.slice(0, 2), digest.slice(2, 4), digest);
