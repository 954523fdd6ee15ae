import { promisify } from 'node:util';
import { crc32, deflateRaw, deflateRawSync, inflateRawSync, type ZlibOptions } from 'node:zlib';

/** A file within an archive, by its path. */
export interface ZipEntry {
  name: string;
  content: Buffer;
  /** the deflated content; without it, the content is deflated synchronously */
  packed?: Buffer;
}

const deflated = promisify<Buffer, ZlibOptions, Buffer>(deflateRaw);

/** For a sheet of 17 MB, level 2 takes a third of the time of level 5 and 11 % more space. */
const LEVEL = 2;

/** Deflates entries in Node's thread pool: a large one would block the event loop. */
export const packedEntries = (entries: ZipEntry[]): Promise<ZipEntry[]> =>
  Promise.all(
    entries.map(async (entry) => ({ ...entry, packed: await deflated(entry.content, { level: LEVEL }) })),
  );

const LOCAL = 0x04034b50;
const CENTRAL = 0x02014b50;
const END = 0x06054b50;
const END_LENGTH = 22;
const MOST_ENTRIES = 1000;
/** 1 January 1980, so that equal content always gives an equal archive */
const NO_DATE = 0x0021;
const UTF8_NAMES = 0x0800;
const ENCRYPTED = 0x0001;
const DEFLATED = 8;

/** An archive of the entries, in this order (PKWARE APPNOTE 6.3, without ZIP64). */
export const zipOf = (entries: ZipEntry[]): Buffer => {
  const files: Buffer[] = [];
  const directory: Buffer[] = [];
  let offset = 0;
  for (const { name, content, packed = deflateRawSync(content) } of entries) {
    const bytes = Buffer.from(name);
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0); // version needed: 2.0
    common.writeUInt16LE(UTF8_NAMES, 2);
    common.writeUInt16LE(DEFLATED, 4);
    common.writeUInt16LE(NO_DATE, 8);
    common.writeUInt32LE(crc32(content), 10);
    common.writeUInt32LE(packed.length, 14);
    common.writeUInt32LE(content.length, 18);
    common.writeUInt16LE(bytes.length, 22);
    const head = Buffer.alloc(4);
    head.writeUInt32LE(LOCAL);
    files.push(head, common, bytes, packed);
    const entry = Buffer.alloc(6);
    entry.writeUInt32LE(CENTRAL);
    entry.writeUInt16LE(20, 4); // made by: 2.0
    const place = Buffer.alloc(14);
    place.writeUInt32LE(offset, 10);
    directory.push(entry, common, place, bytes);
    offset += 30 + bytes.length + packed.length;
  }
  const listed = Buffer.concat(directory);
  const end = Buffer.alloc(END_LENGTH);
  end.writeUInt32LE(END);
  end.writeUInt16LE(entries.length, 8);
  end.writeUInt16LE(entries.length, 10);
  end.writeUInt32LE(listed.length, 12);
  end.writeUInt32LE(offset, 16);
  return Buffer.concat([...files, listed, end]);
};

interface Place {
  offset: number;
  packed: number;
  flags: number;
  method: number;
}

/** The end record of an archive: only a comment of at most 64 KB may follow it. */
const endOf = (file: Buffer): number => {
  for (let at = file.length - END_LENGTH; at >= 0 && at >= file.length - END_LENGTH - 0xffff; at -= 1)
    if (file.readUInt32LE(at) === END && at + END_LENGTH + file.readUInt16LE(at + 20) === file.length)
      return at;
  throw new RangeError('it is not a complete archive: its list of contents is missing');
};

/**
 * An external archive. Nothing is unpacked until it is read, and nothing beyond the budget, whatever sizes the archive claims.
 */
export class ZipFile {
  private readonly places = new Map<string, Place>();

  /**
   * @param budget  total bytes that may be unpacked
   * @throws RangeError with a message for the user when it cannot be read
   */
  constructor(
    private readonly file: Buffer,
    private budget: number,
  ) {
    const end = endOf(file);
    const count = file.readUInt16LE(end + 10);
    if (count > MOST_ENTRIES) throw new RangeError(`it holds more than ${MOST_ENTRIES} parts`);
    let at = file.readUInt32LE(end + 16);
    for (let n = 0; n < count; n += 1) {
      if (at + 46 > end || file.readUInt32LE(at) !== CENTRAL)
        throw new RangeError('its list of contents is broken');
      const [nameLength, extraLength, commentLength] = [28, 30, 32].map((field) =>
        file.readUInt16LE(at + field),
      ) as [number, number, number];
      const name = file.toString('utf8', at + 46, at + 46 + nameLength);
      if (this.places.has(name)) throw new RangeError(`it holds the part ${name} twice`);
      this.places.set(name, {
        offset: file.readUInt32LE(at + 42),
        packed: file.readUInt32LE(at + 20),
        flags: file.readUInt16LE(at + 8),
        method: file.readUInt16LE(at + 10),
      });
      at += 46 + nameLength + extraLength + commentLength;
    }
  }

  has(name: string): boolean {
    return this.places.has(name);
  }

  /** @throws RangeError with a message for the user when the entry is missing, cannot be read, or exceeds the budget */
  read(name: string): Buffer {
    const place = this.places.get(name);
    if (!place) throw new RangeError(`it has no part ${name}`);
    const { offset, packed, flags, method } = place;
    const { file } = this;
    if ((flags & ENCRYPTED) !== 0) throw new RangeError('it is protected by a password');
    if (offset + 30 > file.length || file.readUInt32LE(offset) !== LOCAL)
      throw new RangeError(`the part ${name} is broken`);
    const start = offset + 30 + file.readUInt16LE(offset + 26) + file.readUInt16LE(offset + 28);
    if (start + packed > file.length) throw new RangeError(`the part ${name} is broken`);
    const content = this.unpacked(file.subarray(start, start + packed), method, name);
    this.budget -= content.length;
    return content;
  }

  private unpacked(bytes: Buffer, method: number, name: string): Buffer {
    const tooMuch = new RangeError('unpacked, it is larger than a table of this kind can be');
    if (method === 0) {
      if (bytes.length > this.budget) throw tooMuch;
      return bytes;
    }
    if (method !== DEFLATED) throw new RangeError(`the part ${name} uses an unsupported compression`);
    if (this.budget <= 0) throw tooMuch;
    try {
      return inflateRawSync(bytes, { maxOutputLength: this.budget });
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ERR_BUFFER_TOO_LARGE') throw tooMuch;
      throw new RangeError(`the part ${name} is broken`);
    }
  }
}
