import { createWriteStream } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import { randomUUID } from 'node:crypto';
import type { MultipartFile, MultipartValue } from '@fastify/multipart';
import { Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { InputPipe } from '../../../common/api/input.pipe.js';
import { fieldText, HEADER_LIMITS, unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty, ProblemError } from '../../../common/api/problem.js';
import { readToEnd } from '../../../common/api/streamed.js';
import { scopedProject } from '../../../common/database/scope.js';
import { JobResults } from '../../../common/jobs/job-results.js';
import { ImportJobOptions } from './import-job.models.js';

const MB = 1024 * 1024;

/** Largest table of a job; a million rows of ten columns have some 100 MB. */
export const UPLOAD_LIMIT_MB = 512;

const FIELD_LIMIT_BYTES = 64 * 1024;

/** Size allowed for the parts of a form other than its file. [byte] */
const FORM_BYTES = MB;

const LIMITS = {
  fileSize: UPLOAD_LIMIT_MB * MB,
  fieldSize: FIELD_LIMIT_BYTES,
  files: 4,
  fields: 20,
  parts: 24,
  ...HEADER_LIMITS,
};

const at = (part: string, detail: string): Fault => ({ in: 'body', pointer: `/${part}`, detail });

const tooLarge = (): ProblemError =>
  faulty('too_large', [at('file', `file is larger than ${UPLOAD_LIMIT_MB} MB: split it`)]);

/** A completely received form. */
export interface Uploaded {
  options: ImportJobOptions;
  /** its name in the folder of results */
  upload: string;
  path: string;
  bytes: number;
}

/** Receives the tables of jobs to disk: one at a time per project, on each instance. */
@Injectable()
export class ImportUploads {
  private readonly under = new Set<number>();
  private readonly pipe = new InputPipe();

  constructor(private readonly results: JobResults) {}

  /**
   * Reads the form of an upload and runs the work with it. The file is kept only if the work succeeds.
   * @param before  checks to run before anything is read
   * @throws ProblemError with the faults of the form; too_large; conflict while another table of the project is being received
   */
  async take<T>(
    request: FastifyRequest,
    before: () => Promise<void>,
    work: (uploaded: Uploaded) => Promise<T>,
  ): Promise<T> {
    const projectId = scopedProject();
    try {
      if (!request.isMultipart())
        throw new ProblemError('unsupported_media_type', 'This address accepts multipart/form-data only.');
      if (Number(request.headers['content-length'] ?? 0) > LIMITS.fileSize + FORM_BYTES) throw tooLarge();
      await before();
      if (this.under.has(projectId))
        throw new ProblemError(
          'conflict',
          'another table of this project is being uploaded: wait until it has ended',
        );
      this.under.add(projectId);
      try {
        return await this.received(request, projectId, work);
      } finally {
        this.under.delete(projectId);
      }
    } finally {
      await readToEnd(request.raw, LIMITS.fileSize + FORM_BYTES);
    }
  }

  private async received<T>(
    request: FastifyRequest,
    projectId: number,
    work: (uploaded: Uploaded) => Promise<T>,
  ): Promise<T> {
    const upload = `upload-${randomUUID()}`;
    const path = await this.results.place(projectId, upload);
    try {
      const form = new OpenForm(path);
      await form.read(request).catch((error: unknown) => {
        throw unreadableForm(error);
      });
      const options = (await this.pipe.transform(form.given, {
        type: 'body',
        metatype: ImportJobOptions,
      })) as ImportJobOptions;
      if (form.bytes === undefined)
        throw faulty('invalid', [at('file', 'file must be sent as a file: curl -F file=@table.csv')]);
      if (form.bytes === 0) throw faulty('invalid', [at('file', 'the file is empty')]);
      return await work({ options, upload, path, bytes: form.bytes });
    } catch (error) {
      await this.results.remove(projectId, upload);
      throw error;
    }
  }
}

/** A form being received: its parts in any order, the file on disk. */
class OpenForm {
  private readonly fields = new Map<string, string>();
  bytes: number | undefined;

  constructor(private readonly path: string) {}

  /** An empty form field counts as absent. */
  get given(): Record<string, string> {
    return Object.fromEntries([...this.fields].filter(([, value]) => value !== ''));
  }

  async read(request: FastifyRequest): Promise<void> {
    for await (const part of request.parts({ limits: LIMITS })) {
      if (part.type === 'file') await this.takeFile(part);
      else this.takeField(part);
    }
  }

  private async takeFile({ fieldname, file }: MultipartFile): Promise<void> {
    if (fieldname !== 'file')
      return this.keep(fieldname, (await textOf(fieldname, file as AsyncIterable<Buffer>)).toString());
    if (this.bytes !== undefined) throw faulty('invalid', [at('file', 'file is given twice')]);
    const target = createWriteStream(this.path, { mode: 0o600 });
    await pipeline(file, target).catch((error: NodeJS.ErrnoException) => {
      if (error.code === 'ENOSPC')
        throw new ProblemError(
          'unavailable',
          'The folder for files has no room for the table: ask the operator.',
        );
      throw error;
    });
    this.bytes = target.bytesWritten;
    if (file.truncated) throw tooLarge();
  }

  private takeField({ fieldname, value, valueTruncated }: MultipartValue): void {
    if (fieldname === 'file')
      throw faulty('invalid', [at('file', 'file must be sent as a file: curl -F file=@table.csv')]);
    if (valueTruncated) throw fieldTooLarge(fieldname);
    this.keep(fieldname, fieldText(fieldname, value));
  }

  private keep(name: string, text: string): void {
    if (this.fields.has(name)) throw faulty('invalid', [at(name, `${name} is given twice`)]);
    this.fields.set(name, text);
  }
}

const fieldTooLarge = (name: string): ProblemError =>
  faulty('too_large', [at(name, `${name} is larger than ${FIELD_LIMIT_BYTES / 1024} KB`)]);

/** The text of a field sent as a file, such as a map. */
const textOf = async (name: string, file: AsyncIterable<Buffer>): Promise<Buffer> => {
  const pieces: Buffer[] = [];
  let bytes = 0;
  for await (const piece of file) {
    bytes += piece.length;
    if (bytes <= FIELD_LIMIT_BYTES) pieces.push(piece);
  }
  if (bytes > FIELD_LIMIT_BYTES) throw fieldTooLarge(name);
  return Buffer.concat(pieces);
};
