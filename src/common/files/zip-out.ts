import { type FileHandle, open } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { crc32, createDeflateRaw } from 'node:zlib';

const LOCAL = 0x04034b50;
const CENTRAL = 0x02014b50;
const END = 0x06054b50;
const END_64 = 0x06064b50;
const LOCATOR_64 = 0x07064b50;
/** Version needed to extract, and version made by: 4.5, for ZIP64 */
const VERSION = 45;
const UTF8_NAMES = 0x0800;
const DEFLATED = 8;
const ZIP64 = 0x0001;
const IN_EXTRA = 0xffffffff;
const MANY = 0xffff;

interface Written {
  name: Buffer;
  crc: number;
  size: number;
  packed: number;
  offset: number;
}

/** Date and time in MS-DOS format, in UTC. */
const dosTime = (at: Date): number =>
  ((at.getUTCFullYear() - 1980) << 25) |
  ((at.getUTCMonth() + 1) << 21) |
  (at.getUTCDate() << 16) |
  (at.getUTCHours() << 11) |
  (at.getUTCMinutes() << 5) |
  (at.getUTCSeconds() >> 1);

const extra64 = (values: number[]): Buffer => {
  const extra = Buffer.alloc(4 + 8 * values.length);
  extra.writeUInt16LE(ZIP64, 0);
  extra.writeUInt16LE(8 * values.length, 2);
  values.forEach((value, index) => extra.writeBigUInt64LE(BigInt(value), 4 + 8 * index));
  return extra;
};

/**
 * Writes an archive of any size to a new file, entry by entry, with little memory (PKWARE APPNOTE 6.3.10 with ZIP64). Size and
 * checksum of an entry are written back into its header once it is complete, so that sequential readers find them too.
 */
export class ZipOut {
  private at = 0;
  private readonly written: Written[] = [];

  private constructor(
    private readonly file: FileHandle,
    private readonly time: number,
  ) {}

  /** @param madeAt  date and time of all entries @throws Error when the file exists */
  static async create(path: string, madeAt: Date): Promise<ZipOut> {
    return new ZipOut(await open(path, 'wx', 0o600), dosTime(madeAt) >>> 0);
  }

  async add(name: string, content: AsyncIterable<Buffer>): Promise<void> {
    const entry: Written = { name: Buffer.from(name), crc: 0, size: 0, packed: 0, offset: this.at };
    this.at += this.localHeader(entry).length;
    await pipeline(
      Readable.from(content, { objectMode: false }),
      async function* (pieces: AsyncIterable<Buffer>) {
        for await (const piece of pieces) {
          entry.crc = crc32(piece, entry.crc);
          entry.size += piece.length;
          yield piece;
        }
      },
      createDeflateRaw(),
      async (pieces: AsyncIterable<Buffer>) => {
        for await (const piece of pieces) {
          entry.packed += piece.length;
          await this.put(piece);
        }
      },
    );
    await this.file.write(this.localHeader(entry), 0, undefined, entry.offset);
    this.written.push(entry);
  }

  /** Writes the directory, and waits until everything is on disk. */
  async end(): Promise<void> {
    const start = this.at;
    for (const entry of this.written) await this.put(this.centralHeader(entry));
    const length = this.at - start;
    const count = this.written.length;
    const end64 = Buffer.alloc(56);
    end64.writeUInt32LE(END_64, 0);
    end64.writeBigUInt64LE(44n, 4);
    end64.writeUInt16LE(VERSION, 12);
    end64.writeUInt16LE(VERSION, 14);
    end64.writeBigUInt64LE(BigInt(count), 24);
    end64.writeBigUInt64LE(BigInt(count), 32);
    end64.writeBigUInt64LE(BigInt(length), 40);
    end64.writeBigUInt64LE(BigInt(start), 48);
    const locator = Buffer.alloc(20);
    locator.writeUInt32LE(LOCATOR_64, 0);
    locator.writeBigUInt64LE(BigInt(this.at), 8);
    locator.writeUInt32LE(1, 16);
    const end = Buffer.alloc(22);
    end.writeUInt32LE(END, 0);
    end.writeUInt16LE(Math.min(count, MANY), 8);
    end.writeUInt16LE(Math.min(count, MANY), 10);
    end.writeUInt32LE(Math.min(length, IN_EXTRA), 12);
    end.writeUInt32LE(Math.min(start, IN_EXTRA), 16);
    await this.put(Buffer.concat([end64, locator, end]));
    await this.file.sync();
    await this.file.close();
  }

  /** Closes a file that stays incomplete. */
  async abandon(): Promise<void> {
    await this.file.close().catch(() => undefined);
  }

  private async put(bytes: Buffer): Promise<void> {
    await this.file.write(bytes, 0, undefined, this.at);
    this.at += bytes.length;
  }

  private localHeader({ name, crc, size, packed }: Written): Buffer {
    const head = Buffer.alloc(30);
    head.writeUInt32LE(LOCAL, 0);
    head.writeUInt16LE(VERSION, 4);
    head.writeUInt16LE(UTF8_NAMES, 6);
    head.writeUInt16LE(DEFLATED, 8);
    head.writeUInt32LE(this.time, 10);
    head.writeUInt32LE(crc, 14);
    head.writeUInt32LE(IN_EXTRA, 18);
    head.writeUInt32LE(IN_EXTRA, 22);
    head.writeUInt16LE(name.length, 26);
    const extra = extra64([size, packed]);
    head.writeUInt16LE(extra.length, 28);
    return Buffer.concat([head, name, extra]);
  }

  private centralHeader({ name, crc, size, packed, offset }: Written): Buffer {
    const head = Buffer.alloc(46);
    head.writeUInt32LE(CENTRAL, 0);
    head.writeUInt16LE(VERSION, 4);
    head.writeUInt16LE(VERSION, 6);
    head.writeUInt16LE(UTF8_NAMES, 8);
    head.writeUInt16LE(DEFLATED, 10);
    head.writeUInt32LE(this.time, 12);
    head.writeUInt32LE(crc, 16);
    head.writeUInt32LE(IN_EXTRA, 20);
    head.writeUInt32LE(IN_EXTRA, 24);
    head.writeUInt16LE(name.length, 28);
    const extra = extra64([size, packed, offset]);
    head.writeUInt16LE(extra.length, 30);
    head.writeUInt32LE(IN_EXTRA, 42);
    return Buffer.concat([head, name, extra]);
  }
}
