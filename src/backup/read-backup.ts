import { once } from 'node:events';
import { createReadStream } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import { createGunzip } from 'node:zlib';
import tar from 'tar-stream';
import { type BackupHead, type BackupTail, HEAD, parsedHead, parsedTail, TAIL, textOf } from './format.js';

export interface Entry {
  name: string;
  content: AsyncIterable<Buffer>;
}

/** Handles the entries of a backup, in order. */
export interface BackupReader {
  head(head: BackupHead): Promise<void>;
  /** Must read the content to its end. */
  entry(entry: Entry): Promise<void>;
  tail(tail: BackupTail): Promise<void>;
}

const readHead = async (file: string, { name, content }: Entry): Promise<BackupHead> => {
  if (name !== HEAD) throw new Error(`${file} is not a backup: it begins with ${name}, not with ${HEAD}.`);
  return parsedHead(file, { name, text: await textOf(content) });
};

/** Describes a file that cannot be unpacked. */
const damaged = (file: string, error: Error): Error => {
  const { code = '' } = error as NodeJS.ErrnoException;
  const isOurs = error.message.startsWith(file);
  const isFormat = code.startsWith('Z_') || /tar|unexpected end|premature close/i.test(error.message);
  return isFormat && !isOurs
    ? new Error(`${file} is damaged, cut off, or not a backup: ${error.message}.`, { cause: error })
    : error;
};

/** Reads a backup from beginning to end, with little memory. @throws Error when it is damaged or truncated */
export const readBackup = async (file: string, reader: BackupReader): Promise<void> => {
  const source = createReadStream(file);
  await once(source, 'open');
  const extract = tar.extract();
  const unpacked = pipeline(source, createGunzip(), extract);
  unpacked.catch(() => undefined); // awaited below
  const entries = async (): Promise<void> => {
    let [begun, ended] = [false, false];
    for await (const stream of extract) {
      const entry: Entry = { name: stream.header.name, content: stream as AsyncIterable<Buffer> };
      if (!begun) await reader.head(await readHead(file, entry));
      else if (entry.name === TAIL)
        await reader.tail(parsedTail(file, { name: TAIL, text: await textOf(entry.content) }));
      else await reader.entry(entry);
      begun = true;
      ended = entry.name === TAIL;
    }
    await unpacked;
    if (!ended) throw new Error(`${file} is cut off: ${TAIL} is missing at its end.`);
  };
  try {
    await entries();
  } catch (error) {
    extract.destroy();
    throw damaged(file, error as Error);
  }
};
