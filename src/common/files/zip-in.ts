import { createReadStream } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';
import { crc32, createInflateRaw } from 'node:zlib';

const CENTRAL = 0x02014b50;
const END = 0x06054b50;
const END_64 = 0x06064b50;
const LOCATOR_64 = 0x07064b50;
const ZIP64 = 0x0001;
const IN_EXTRA = 0xffffffff;
const DEFLATED = 8;
/** Only a comment of at most 64 KB may follow the end record. */
const MOST_BEHIND = 22 + 0xffff;

interface Place {
  crc: number;
  size: number;
  packed: number;
  offset: number;
}

const broken = (file: string, why: string): Error => new Error(`${file} is damaged or cut off: ${why}.`);

const foreign = (file: string): Error =>
  new Error(`${file} was packed by another program: unpack it into a folder and name the folder.`);

const large = (bytes: Buffer, at: number): number => Number(bytes.readBigUInt64LE(at));

/** An archive of any size on disk, as `ZipOut` writes it; entries are read as streams, with little memory. */
export class ZipIn {
  private constructor(
    private readonly path: string,
    private readonly file: FileHandle,
    private readonly places: ReadonlyMap<string, Place>,
  ) {}

  /** @throws Error when it is not a complete archive, or was packed by another program */
  static async open(path: string): Promise<ZipIn> {
    const file = await open(path, 'r');
    try {
      return new ZipIn(path, file, await placesOf(path, file));
    } catch (error) {
      await file.close();
      throw error;
    }
  }

  get names(): string[] {
    return [...this.places.keys()];
  }

  close(): Promise<void> {
    return this.file.close();
  }

  /** The bytes of an entry. @throws Error, at its end, when they differ from those written */
  async *read(name: string): AsyncGenerator<Buffer, void> {
    const place = this.places.get(name);
    if (!place) throw broken(this.path, `it has no part ${name}`);
    const head = Buffer.alloc(30);
    await this.file.read(head, 0, 30, place.offset);
    const start = place.offset + 30 + head.readUInt16LE(26) + head.readUInt16LE(28);
    let [crc, size] = [0, 0];
    if (place.packed > 0) {
      const inflate = createInflateRaw();
      const packed = createReadStream(this.path, { start, end: start + place.packed - 1 });
      const done = pipeline(packed, inflate);
      done.catch(() => undefined); // the loop reports the failure
      try {
        for await (const piece of inflate as AsyncIterable<Buffer>) {
          crc = crc32(piece, crc);
          size += piece.length;
          yield piece;
        }
        await done;
      } catch (error) {
        throw broken(this.path, `part ${name}: ${(error as Error).message}`);
      }
    }
    if (crc !== place.crc || size !== place.size)
      throw broken(this.path, `part ${name} is not as it was written`);
  }
}

/** Whether the end record of a whole archive is there: its comment reaches to the end of the file. */
const isEnd = (tail: Buffer, at: number): boolean =>
  at >= 0 && at + 22 + tail.readUInt16LE(at + 20) === tail.length;

const placesOf = async (path: string, file: FileHandle): Promise<Map<string, Place>> => {
  const { size } = await file.stat();
  const tail = Buffer.alloc(Math.min(size, MOST_BEHIND + 20 + 56));
  await file.read(tail, 0, tail.length, size - tail.length);
  let end = tail.length - 22;
  while (end >= 0 && tail.readUInt32LE(end) !== END) end -= 1;
  const locator = end - 20;
  if (locator < 0 || tail.readUInt32LE(locator) !== LOCATOR_64)
    throw isEnd(tail, end) ? foreign(path) : broken(path, 'its list of contents is missing');
  const end64 = Buffer.alloc(56);
  await file.read(end64, 0, 56, large(tail, locator + 8));
  if (end64.readUInt32LE(0) !== END_64) throw broken(path, 'its list of contents is missing');
  const [count, length, start] = [large(end64, 32), large(end64, 40), large(end64, 48)];
  if (start + length > size) throw broken(path, 'its list of contents is broken');
  const directory = Buffer.alloc(length);
  await file.read(directory, 0, length, start);
  const places = new Map<string, Place>();
  let at = 0;
  for (let n = 0; n < count; n += 1) {
    if (at + 46 > length || directory.readUInt32LE(at) !== CENTRAL)
      throw broken(path, 'its list of contents is broken');
    const [name, extra, comment] = [28, 30, 32].map((field) => directory.readUInt16LE(at + field)) as [
      number,
      number,
      number,
    ];
    const extraAt = at + 46 + name;
    if (
      directory.readUInt16LE(at + 10) !== DEFLATED ||
      directory.readUInt32LE(at + 42) !== IN_EXTRA ||
      extra < 28 ||
      directory.readUInt16LE(extraAt) !== ZIP64
    )
      throw foreign(path);
    places.set(directory.toString('utf8', at + 46, at + 46 + name), {
      crc: directory.readUInt32LE(at + 16),
      size: large(directory, extraAt + 4),
      packed: large(directory, extraAt + 12),
      offset: large(directory, extraAt + 20),
    });
    at = extraAt + extra + comment;
  }
  return places;
};
