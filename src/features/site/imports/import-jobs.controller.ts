import { Controller, HttpCode, Param, Post, Req, Res } from '@nestjs/common';
import { ApiBody, ApiConsumes, ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Answer, Fails } from '../../../common/api/answer.js';
import { Streamed } from '../../../common/api/streamed.js';
import { Job } from '../../watch/jobs/job.models.js';
import { ImportPath } from './import.models.js';
import { ImportJobForm } from './import-job.models.js';
import { ImportJob } from './import-job.service.js';
import { PermitByKind } from './kind-access.js';

@ApiTags('Imports')
@Controller('v1/projects/:project/import-jobs')
export class ImportJobsController {
  constructor(private readonly imports: ImportJob) {}

  /** REST only: GraphQL has no upload. */
  @PermitByKind()
  @Post(':kind')
  @HttpCode(202)
  @Streamed()
  @ApiConsumes('multipart/form-data')
  @ApiBody({ type: ImportJobForm })
  @Fails('conflict')
  @Answer(
    'Has a large table imported by a job, by the permission of its kind: see its Location. What became of each row is its result. Safe to repeat',
    Job,
    202,
  )
  async ask(
    @Param() { project, kind }: ImportPath,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Job> {
    const job = await this.imports.ask(kind, request);
    void reply.header('location', `/v1/projects/${encodeURIComponent(project)}/jobs/${job.number}`);
    return job;
  }
}
