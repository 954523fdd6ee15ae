import { createReadStream } from 'node:fs';
import { open, readdir, stat } from 'node:fs/promises';
import path from 'node:path';
import { ZipIn } from '../common/files/zip-in.js';
import { ATTACHMENTS, type BackupHead, type BackupTail, FORMAT, nameOf, TABLES } from './format.js';
import type { BackupReader, Entry } from './read-backup.js';

/** A package, as a folder or an archive. */
interface Package {
  names: string[];
  read(name: string): AsyncIterable<Buffer>;
  close(): Promise<void>;
}

/** Whether it is a handover package, in a folder or a zip archive, rather than a backup. */
export const isHandover = async (file: string): Promise<boolean> => {
  if ((await stat(file)).isDirectory()) return true;
  const handle = await open(file, 'r');
  try {
    const { buffer } = await handle.read(Buffer.alloc(2), 0, 2, 0);
    return buffer.toString('latin1') === 'PK';
  } finally {
    await handle.close();
  }
};

const folder = async (place: string): Promise<Package> => ({
  names: (await readdir(place, { recursive: true, withFileTypes: true }))
    .filter((entry) => entry.isFile())
    .map((entry) => path.relative(place, path.join(entry.parentPath, entry.name)).split(path.sep).join('/')),
  read: (name) => createReadStream(path.join(place, ...name.split('/'))),
  close: () => Promise.resolve(),
});

const archive = async (place: string): Promise<Package> => {
  const zip = await ZipIn.open(place);
  return { names: zip.names, read: (name) => zip.read(name), close: () => zip.close() };
};

const json = async <T>(found: Package, name: string): Promise<T> => {
  const pieces: Buffer[] = [];
  for await (const piece of found.read(name)) pieces.push(piece);
  return JSON.parse(Buffer.concat(pieces).toString('utf8')) as T;
};

const ATTACHED = /^attachments\/([0-9a-f]{64})(\.[a-z0-9]{1,5})?$/;

/**
 * Reads the record in a handover package, with little memory, as if it were a backup of its project.
 * @throws Error when it is not a handover package, or is damaged
 */
export const readHandover = async (place: string, reader: BackupReader): Promise<void> => {
  const found = await ((await stat(place)).isDirectory() ? folder(place) : archive(place));
  try {
    const names = new Set(found.names);
    if (!names.has('manifest.json'))
      throw new Error(`${place} is no complete handover package: manifest.json is missing.`);
    if (!names.has('record/record.json'))
      throw new Error(
        `${place} is the package of a drive: only the package of a project can be read into a service.`,
      );
    const head = await json<BackupHead>(found, 'record/record.json');
    if (head.format !== FORMAT)
      throw new Error(
        `${place} has format ${head.format}, and this build reads format ${FORMAT}: read it by the build that made it, ${head.version}, or a newer one.`,
      );
    await reader.head(head);
    for (const table of head.tables) {
      const file = `record/tables/${nameOf(table)}.copy`;
      if (names.has(file))
        await reader.entry({ name: `${TABLES}${nameOf(table)}/1.copy`, content: found.read(file) });
    }
    const tail = await json<BackupTail>(found, 'record/digests.json');
    const [{ projectId } = { projectId: 0 }] = tail.heads;
    for (const name of names) {
      const [, digest] = ATTACHED.exec(name) ?? [];
      if (digest === undefined) continue;
      const entry: Entry = {
        name: `${ATTACHMENTS}${projectId}/${digest.slice(0, 2)}/${digest.slice(2, 4)}/${digest}`,
        content: found.read(name),
      };
      await reader.entry(entry);
    }
    await reader.tail(tail);
  } finally {
    await found.close();
  }
};
