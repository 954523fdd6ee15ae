import { Injectable, type OnModuleInit } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { Config } from '../../../common/config/config.js';
import { Database } from '../../../common/database/database.js';
import { shippedFolders } from '../../../common/database/migrate.js';
import { scope } from '../../../common/database/scope.js';
import {
  type JobContext,
  type JobFile,
  type JobKind,
  JobKinds,
  type JobProgress,
} from '../../../common/jobs/job-kinds.js';
import { Workers } from '../../../common/work/workers.js';
import type { Job } from '../../watch/jobs/job.models.js';
import { JobsService } from '../../watch/jobs/jobs.service.js';
import type { HandoverInput } from './handover.models.js';

const DRIVE = `select code from drive where code = $1`;

/** Creates handover packages as jobs. */
@Injectable()
export class HandoverJob implements JobKind, OnModuleInit {
  readonly name = 'handover';

  constructor(
    private readonly config: Config,
    private readonly database: Database,
    private readonly workers: Workers,
    private readonly kinds: JobKinds,
    private readonly jobs: JobsService,
  ) {}

  onModuleInit(): void {
    this.kinds.register(this);
  }

  /** @throws ProblemError not_found naming the drive; conflict as JobsService.ask */
  async ask({ drive }: HandoverInput): Promise<Job> {
    if (drive != null && (await this.database.read(DRIVE, drive)).length === 0)
      throw notFound(`drive ${drive} in project ${scope().project}`);
    return this.jobs.ask(this.name, drive == null ? {} : { drive });
  }

  async run(
    { scope: asked, input, place }: JobContext,
    progress: JobProgress,
    signal: AbortSignal,
  ): Promise<JobFile> {
    const { databaseUrl: url = '', attachmentsDir } = this.config;
    const { drive } = input as { drive?: string };
    const path = await place('zip');
    const { version } = shippedFolders;
    const { writeHandover } = await import('./write-handover.js'); // loaded on demand: its Parquet libraries take 30 MB of memory
    await writeHandover({
      ...{ url, scope: asked, target: path, drive, attachmentsDir, version },
      ...{ workers: this.workers, progress, signal },
    });
    const name = ['handover', asked.project, ...(drive === undefined ? [] : [drive])].join('-');
    return { path, name: `${name}.zip`, mediaType: 'application/zip' };
  }
}
