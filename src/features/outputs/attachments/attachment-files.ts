import { createHash, randomUUID } from 'node:crypto';
import { type FileHandle, mkdir, open, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import type { Readable } from 'node:stream';
import { Injectable, Logger } from '@nestjs/common';
import { ProblemError } from '../../../common/api/problem.js';
import { Config } from '../../../common/config/config.js';
import { syncFolder } from '../../../common/files/disk.js';
import { HEAD_BYTES, TextTest } from './media-type.js';
import { filePath, INCOMING } from '../../../common/files/file-places.js';

/** A completely received file, kept apart until it is put in place. */
export interface Received {
  digest: string;
  sizeBytes: number;
  head: Buffer;
  isText: boolean;
  path: string;
}

const MB = 1024 * 1024;

const codeOf = (error: unknown): string | undefined => (error as NodeJS.ErrnoException).code;

/**
 * The bytes of attachments: files named by their SHA-256, in one folder per project, so that neither a digest nor a response time
 * reveals what another project has. A file is never written in place: it is received under a temporary name and renamed once it
 * is complete.
 */
@Injectable()
export class AttachmentFiles {
  private readonly log = new Logger(AttachmentFiles.name);

  constructor(private readonly config: Config) {}

  /** The largest file accepted. [byte] */
  get limitBytes(): number {
    return this.config.attachmentMaxMb * MB;
  }

  get tooLarge(): string {
    return `file is larger than ${this.config.attachmentMaxMb} MB (ATTACHMENT_MAX_MB)`;
  }

  /** Creates the folder if missing. @throws ProblemError unavailable that names the setting */
  async ready(): Promise<void> {
    await this.attempt('written', () =>
      mkdir(path.join(this.folder(), INCOMING), { recursive: true, mode: 0o700 }),
    );
  }

  /**
   * Writes a file of any length as it arrives, and hashes it meanwhile. Nothing is left behind if the stream is interrupted.
   * @throws ProblemError unavailable when it cannot be written
   */
  async receive(stream: Readable): Promise<Received> {
    const file = path.join(this.folder(), INCOMING, `${randomUUID()}.part`);
    const handle = await this.attempt('written', () => open(file, 'wx', 0o600));
    try {
      return { ...(await this.write(handle, stream)), path: file };
    } catch (error) {
      await this.discard(file);
      throw error;
    } finally {
      await handle.close();
    }
  }

  private async write(handle: FileHandle, stream: Readable): Promise<Omit<Received, 'path'>> {
    const hash = createHash('sha256');
    const text = new TextTest();
    const head: Buffer[] = [];
    let sizeBytes = 0;
    for await (const piece of stream as AsyncIterable<Buffer>) {
      if (sizeBytes < HEAD_BYTES) head.push(piece.subarray(0, HEAD_BYTES - sizeBytes));
      sizeBytes += piece.length;
      hash.update(piece);
      text.take(piece);
      await this.attempt('written', () => handle.writeFile(piece));
    }
    await this.attempt('written', () => handle.sync());
    return { digest: hash.digest('hex'), sizeBytes, head: Buffer.concat(head), isText: text.end() };
  }

  /** Gives a received file its final name, atomically and durably; an existing file of that name has the same content. Safe to repeat. */
  async place(projectId: number, { digest, path: from }: Received): Promise<void> {
    const to = filePath(this.folder(), projectId, digest);
    const folder = path.dirname(to);
    await this.attempt('written', async () => {
      const made = await mkdir(folder, { recursive: true, mode: 0o700 });
      try {
        await rename(from, to);
      } catch (error) {
        if (codeOf(error) !== 'ENOENT') throw error;
        await (await open(to, 'r')).close(); // already in place, when a transaction is retried
      }
      await syncFolder(folder);
      for (let above = folder; made !== undefined && above !== this.folder();) {
        above = path.dirname(above);
        await syncFolder(above);
      }
    });
  }

  async discard(file: string): Promise<void> {
    await rm(file, { force: true });
  }

  /** @throws ProblemError unavailable when the bytes are missing or changed */
  async read(projectId: number, digest: string, sizeBytes: number): Promise<Readable> {
    const handle = await this.attempt('read', () => open(filePath(this.folder(), projectId, digest), 'r'));
    const { size } = await handle.stat();
    if (size === sizeBytes) return handle.createReadStream();
    await handle.close();
    this.log.error(
      `attachment ${digest} of project ${projectId} has ${size} bytes on disk, not ${sizeBytes}`,
    );
    throw new ProblemError(
      'unavailable',
      'The bytes of this attachment are not those that were uploaded. Ask the operator to run "drivebook attachments verify".',
    );
  }

  private folder(): string {
    const { attachmentsDir } = this.config;
    if (attachmentsDir !== undefined) return attachmentsDir;
    throw new ProblemError(
      'unavailable',
      'This service keeps no attachments: ATTACHMENTS_DIR is not set, and with an external database there is no default folder.',
    );
  }

  /** @throws ProblemError unavailable for errors of the file system; the log has the details */
  private async attempt<T>(what: 'read' | 'written', work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      const code = codeOf(error);
      if (error instanceof ProblemError || code === undefined) throw error;
      this.log.error(`an attachment cannot be ${what}: ${(error as Error).message}`);
      const detail =
        what === 'read' && code === 'ENOENT'
          ? 'The bytes of this attachment are not in ATTACHMENTS_DIR. Ask the operator to run "drivebook attachments verify".'
          : `An attachment cannot be ${what}: access to ATTACHMENTS_DIR failed with ${code}. Inform the operator.`;
      throw new ProblemError('unavailable', detail);
    }
  }
}
