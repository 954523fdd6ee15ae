import { Injectable, type OnModuleInit } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { faulty, ProblemError } from '../../../common/api/problem.js';
import { inScope, scope } from '../../../common/database/scope.js';
import {
  type JobContext,
  type JobFile,
  type JobKind,
  JobKinds,
  type JobProgress,
} from '../../../common/jobs/job-kinds.js';
import { CSV } from '../../../common/files/csv.js';
import type { Job } from '../../watch/jobs/job.models.js';
import { JobsService } from '../../watch/jobs/jobs.service.js';
import { ImportUploads, type Uploaded } from './import-upload.service.js';
import { Kinds } from './kinds.service.js';
import { LargeImports, type LargeOptions, type LargeOutcome } from './large-imports.service.js';

/** Input of a job; its table is in the folder of results. */
interface Asked {
  kind: string;
  drive?: string;
  options: LargeOptions;
}

/** Share of the work for detecting the formats of the table. [%] */
const OPENING_PERCENT = 2;

/** Imports tables of any length by jobs. */
@Injectable()
export class ImportJob implements JobKind, OnModuleInit {
  readonly name = 'import';

  constructor(
    private readonly kinds: Kinds,
    private readonly imports: LargeImports,
    private readonly uploads: ImportUploads,
    private readonly registered: JobKinds,
    private readonly jobs: JobsService,
  ) {}

  onModuleInit(): void {
    this.registered.register(this);
  }

  /**
   * Takes the upload, and creates a job that imports it.
   * @throws ProblemError for an invalid form, map or table; not_found for the kind or the drive; conflict as JobsService.ask
   */
  ask(kind: string, request: FastifyRequest): Promise<Job> {
    return this.uploads.take(
      request,
      async () => {
        this.kinds.of(kind);
        await this.jobs.assertFree(this.name);
      },
      (uploaded) => this.asked(kind, uploaded),
    );
  }

  private async asked(kind: string, { options, upload, path, bytes }: Uploaded): Promise<Job> {
    const { drive, ...declared } = options;
    const { ofDrive, rows } = this.kinds.of(kind);
    if (ofDrive !== (drive !== undefined))
      throw faulty('invalid', [
        {
          in: 'body',
          pointer: '/drive',
          value: drive,
          detail: ofDrive
            ? `drive is missing: ${rows} belong to one`
            : `${rows} belong to the project: omit drive`,
        },
      ]);
    const { project, reason } = scope();
    await this.imports.assertReadable({ kind, place: placeOf(project, drive), path, options: declared });
    return this.jobs.ask(this.name, { kind, drive, options: declared, bytes, reason, upload });
  }

  async run(
    { scope: asked, input, upload, place }: JobContext,
    progress: JobProgress,
    signal: AbortSignal,
  ): Promise<JobFile> {
    const { kind, drive, options } = input as unknown as Asked;
    if (upload === undefined) throw new Error('an import without its table');
    const path = await place('csv');
    progress(0, 'seeing how the table is written');
    const outcome = await inScope(asked, () =>
      this.imports.take({ kind, place: placeOf(asked.project, drive), path: upload, options }, path, {
        signal,
        progress: (done, soFar) =>
          progress(
            OPENING_PERCENT + ((99 - OPENING_PERCENT) * done) / Math.max(1, soFar.rowCount),
            atRow(done, soFar),
            soFar,
          ),
      }),
    ).catch((error: unknown) => {
      throw error instanceof ProblemError ? inFull(error) : error;
    });
    progress(99, atRow(outcome.rowCount, outcome), outcome);
    const name = ['import', asked.project, ...(drive === undefined ? [] : [drive]), kind].join('-');
    return { path, name: `${name}.csv`, mediaType: `${CSV}; charset=utf-8` };
  }
}

const atRow = (row: number, { rowCount }: LargeOutcome): string => `row ${row} of ${rowCount}`;

const placeOf = (project: string, drive?: string): Record<string, string> => ({
  project,
  ...(drive !== undefined && { drive }),
});

/** A job has a single text for its failure, so it lists every fault. */
const inFull = ({ code, message, faults }: ProblemError): ProblemError => {
  const others = faults.map(({ detail }) => detail).filter((detail) => detail !== message);
  return new ProblemError(code, [message, ...others].join('; '));
};
