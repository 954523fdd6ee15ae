import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { open, readdir, stat } from 'node:fs/promises';
import path from 'node:path';
import { ZipIn } from '../common/files/zip-in.js';
import {
  assertFormat,
  ATTACHMENTS,
  type BackupHead,
  nameOf,
  PACKAGE_FORMAT,
  parsedHead,
  parsedPart,
  parsedTail,
  TABLES,
  textOf,
} from './format.js';
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
    .filter((entry) => !entry.isDirectory()) // a link is a file that was added
    .map((entry) => path.relative(place, path.join(entry.parentPath, entry.name)).split(path.sep).join('/')),
  read: (name) => createReadStream(path.join(place, ...name.split('/'))),
  close: () => Promise.resolve(),
});

const archive = async (place: string): Promise<Package> => {
  const zip = await ZipIn.open(place);
  return { names: zip.names, read: (name) => zip.read(name), close: () => zip.close() };
};

const MANIFEST = 'manifest.json';
const SUMS = 'SHA256SUMS';

interface Listed {
  path: string;
  sha256: string;
}

/** The text of a part; empty if there is none. */
const part = async (found: Package, name: string): Promise<{ name: string; text: string }> => ({
  name,
  text: found.names.includes(name) ? await textOf(found.read(name)) : '',
});

/** @returns undefined for a file that cannot be read */
const digestOf = async (content: AsyncIterable<Buffer>): Promise<string | undefined> => {
  const hash = createHash('sha256');
  try {
    for await (const piece of content) hash.update(piece);
    return hash.digest('hex');
  } catch {
    return undefined;
  }
};

/** How many faults are reported. */
const MOST = 20;

/** Compares every file with the manifest, as the package's own script does. @throws Error naming those that are missing, added or changed */
const assertAsWritten = async (place: string, found: Package, files: readonly Listed[]): Promise<void> => {
  const names = new Set(found.names);
  const known = new Set([...files.map((file) => file.path), MANIFEST, SUMS]);
  const faults = found.names.filter((name) => !known.has(name)).map((name) => `${name} is in no manifest`);
  for (const { path: name, sha256 } of files)
    if (!names.has(name)) faults.push(`${name} is missing`);
    else if ((await digestOf(found.read(name))) !== sha256)
      faults.push(`${name} is not as it was written: its digest differs`);
  const manifest = { path: MANIFEST, sha256: await digestOf(found.read(MANIFEST)) };
  const sums = [...files, manifest].map((file) => `${file.sha256}  ${file.path}\n`).join('');
  if ((await part(found, SUMS)).text !== sums) faults.push(`${SUMS} does not say what the manifest says`);
  if (faults.length === 0) return;
  const more = faults.length > MOST ? [`and ${faults.length - MOST} more`] : [];
  throw new Error(
    `${place} is damaged:\n${[...faults.slice(0, MOST), ...more].map((fault) => `  ${fault}`).join('\n')}`,
  );
};

const ATTACHED = /^attachments\/([0-9a-f]{64})(\.[a-z0-9]{1,5})?$/;

/**
 * Reads the record in a handover package, with little memory, as if it were a backup of its project. Before that, every file of the
 * package is compared with its manifest, used here or not.
 * @throws Error when it is not a handover package, is of a format that this build does not read, or is damaged
 */
export const readHandover = async (place: string, reader: BackupReader): Promise<void> => {
  const found = await ((await stat(place)).isDirectory() ? folder(place) : archive(place));
  try {
    const names = new Set(found.names);
    if (!names.has(MANIFEST))
      throw new Error(`${place} is no complete handover package: ${MANIFEST} is missing.`);
    const manifest = await part(found, MANIFEST);
    assertFormat(place, parsedPart<BackupHead>(place, manifest, [], ['format', 'version']), PACKAGE_FORMAT);
    const { files } = parsedPart<{ files: Listed[] }>(place, manifest, ['files']);
    if (!files.some((file) => file.path === 'record/record.json'))
      throw new Error(
        `${place} is the package of a drive: only the package of a project can be read into a service.`,
      );
    await assertAsWritten(place, found, files);
    const head = parsedHead(place, await part(found, 'record/record.json'));
    const tail = parsedTail(place, await part(found, 'record/digests.json'));
    await reader.head(head);
    for (const table of head.tables) {
      const file = `record/tables/${nameOf(table)}.copy`;
      if (names.has(file))
        await reader.entry({ name: `${TABLES}${nameOf(table)}/1.copy`, content: found.read(file) });
    }
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
