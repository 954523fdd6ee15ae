import { createWriteStream } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import { randomUUID } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { InputPipe } from '../../../common/api/input.pipe.js';
import { unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty, ProblemError } from '../../../common/api/problem.js';
import { readToEnd } from '../../../common/api/streamed.js';
import { propertiesOf } from '../../../common/api/properties.js';
import { type DeclaredForm, StreamedForm } from '../../../common/api/streamed-form.js';
import { scopedProject } from '../../../common/database/scope.js';
import { JobResults } from '../../../common/jobs/job-results.js';
import { ImportJobOptions } from './import-job.models.js';

const MB = 1024 * 1024;

/** Largest table of a job; a million rows of ten columns have some 100 MB. */
export const UPLOAD_LIMIT_MB = 512;

/** Size allowed for the parts of a form other than its file. [byte] */
const FORM_BYTES = MB;

const FILE_BYTES = UPLOAD_LIMIT_MB * MB;

const FORM: DeclaredForm = {
  fields: [...propertiesOf(ImportJobOptions)],
  fileSize: FILE_BYTES,
  example: '-F file=@table.csv',
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
      if (Number(request.headers['content-length'] ?? 0) > FILE_BYTES + FORM_BYTES) throw tooLarge();
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
      await readToEnd(request.raw, FILE_BYTES + FORM_BYTES);
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
      const form = new StreamedForm(request, FORM);
      const bytes = await receive(form, path).catch((error: unknown) => {
        throw unreadableForm(error);
      });
      const options = (await this.pipe.transform(form.given, {
        type: 'body',
        metatype: ImportJobOptions,
      })) as ImportJobOptions;
      if (bytes === undefined)
        throw faulty('invalid', [at('file', 'file must be sent as a file: curl -F file=@table.csv')]);
      if (bytes === 0) throw faulty('invalid', [at('file', 'the file is empty')]);
      return await work({ options, upload, path, bytes });
    } catch (error) {
      await this.results.remove(projectId, upload);
      throw error;
    }
  }
}

/** Writes the file of a form to disk. @returns its size, if the form has one [byte] */
const receive = async (form: StreamedForm, path: string): Promise<number | undefined> => {
  let bytes: number | undefined;
  for await (const { file } of form.file()) {
    const target = createWriteStream(path, { mode: 0o600 });
    await pipeline(file, target).catch((error: NodeJS.ErrnoException) => {
      if (error.code === 'ENOSPC')
        throw new ProblemError(
          'unavailable',
          'The folder for files has no room for the table: ask the operator.',
        );
      throw error;
    });
    bytes = target.bytesWritten;
    if (file.truncated) throw tooLarge();
  }
  return bytes;
};
