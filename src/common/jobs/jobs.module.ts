import { Global, Module } from '@nestjs/common';
import { JobKinds } from './job-kinds.js';
import { JobResults } from './job-results.js';
import { JobRunner } from './job-runner.service.js';

/** Lets every feature register kinds of job. */
@Global()
@Module({ providers: [JobKinds, JobResults, JobRunner], exports: [JobKinds, JobResults, JobRunner] })
export class JobRunningModule {}
