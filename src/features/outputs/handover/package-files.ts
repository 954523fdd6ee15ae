import { createHash } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { mkdir, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { assertNew, trySyncFolder } from '../../../common/files/disk.js';
import { ZipOut } from '../../../common/files/zip-out.js';

/** The entry of a file in the manifest. */
export interface PackedFile {
  path: string;
  bytes: number;
  sha256: string;
  /** Number of rows, lines or documents in it, where applicable. */
  rows?: number;
}

export type Content = AsyncIterable<Buffer>;

/** Where the files of a package are written, one after the other. */
interface Place {
  add(name: string, content: Content): Promise<void>;
  /** Completes it under its final name. */
  end(): Promise<void>;
  /** Removes everything. */
  abandon(): Promise<void>;
}

const folderPlace = async (target: string, partial: string): Promise<Place> => {
  await mkdir(partial, { mode: 0o700 });
  return {
    async add(name, content) {
      const file = path.join(partial, ...name.split('/'));
      await mkdir(path.dirname(file), { recursive: true, mode: 0o700 });
      await pipeline(
        Readable.from(content, { objectMode: false }),
        createWriteStream(file, { flags: 'wx', mode: 0o600, flush: true }),
      );
    },
    async end() {
      await rename(partial, target);
      await trySyncFolder(path.dirname(target));
    },
    abandon: () => rm(partial, { recursive: true, force: true }),
  };
};

const zipPlace = async (target: string, partial: string, madeAt: Date): Promise<Place> => {
  const zip = await ZipOut.create(partial, madeAt);
  return {
    add: (name, content) => zip.add(name, content),
    async end() {
      await zip.end();
      await rename(partial, target);
      await trySyncFolder(path.dirname(target));
    },
    async abandon() {
      await zip.abandon();
      await rm(partial, { force: true });
    },
  };
};

export const isZip = (target: string): boolean => /\.zip$/i.test(target);

/** The files of a package being written: collects size and digest of each for the manifest. */
export class PackageFiles {
  readonly files: PackedFile[] = [];

  private constructor(
    private readonly place: Place,
    private readonly signal: AbortSignal | undefined,
  ) {}

  /**
   * Begins a package under a temporary name; it gets its final name when it is complete.
   * @param target  a folder, or a file that ends in .zip
   * @param signal  aborts the writing
   * @throws Error when the target exists
   */
  static async begin(target: string, madeAt: Date, signal?: AbortSignal): Promise<PackageFiles> {
    assertNew(target);
    const partial = `${target.replace(/[\\/]+$/, '')}.${process.pid}.partial`;
    return new PackageFiles(
      await (isZip(target) ? zipPlace(target, partial, madeAt) : folderPlace(target, partial)),
      signal,
    );
  }

  /**
   * Adds a file as its content is read.
   * @param rows  number of rows, counted by the source; called at the end
   */
  async add(name: string, content: Content | Buffer | string, rows?: () => number): Promise<PackedFile> {
    const hash = createHash('sha256');
    const { signal } = this;
    signal?.throwIfAborted();
    let bytes = 0;
    const pieces = typeof content === 'string' || Buffer.isBuffer(content) ? whole(content) : content;
    async function* passing(): Content {
      for await (const piece of pieces) {
        signal?.throwIfAborted();
        hash.update(piece);
        bytes += piece.length;
        yield piece;
      }
    }
    await this.place.add(name, passing());
    const file = { path: name, bytes, sha256: hash.digest('hex'), ...(rows ? { rows: rows() } : {}) };
    this.files.push(file);
    return file;
  }

  /** Moves a file from a scratch folder into the package. */
  async move(name: string, scratch: string): Promise<void> {
    await this.add(name, createReadStream(scratch) as Content);
    await rm(scratch);
  }

  end(): Promise<void> {
    return this.place.end();
  }

  abandon(): Promise<void> {
    return this.place.abandon();
  }
}

async function* whole(content: Buffer | string): Content {
  const bytes = Buffer.from(content);
  if (bytes.length > 0) yield await Promise.resolve(bytes);
}
