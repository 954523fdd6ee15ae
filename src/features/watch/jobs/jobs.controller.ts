import { Controller, Delete, Get, HttpCode, Param, Query, Req, Res, StreamableFile } from '@nestjs/common';
import { ApiHeader, ApiResponse, ApiTags } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Answer, Fails, PageOrEvents } from '../../../common/api/answer.js';
import { answerKeptFile } from '../../../common/api/file-answer.js';
import { headerReference } from '../../../common/api/openapi-headers.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { wantsEvents } from '../live/event-streams.service.js';
import { Job, JobFilter, JobPage, JobPath } from './job.models.js';
import { JobStreams } from './job-stream.service.js';
import { JobsService } from './jobs.service.js';

@ApiTags('Jobs')
@Controller('v1/projects/:project/jobs')
export class JobsController {
  constructor(
    private readonly jobs: JobsService,
    private readonly streams: JobStreams,
  ) {}

  @Permit('record.read')
  @Get()
  @Answer(
    'The jobs of a project that the caller asked for, by number, a page at a time; with jobs.read, all',
    JobPage,
  )
  page(@Param() _path: ProjectPath, @Query() filter: JobFilter): Promise<JobPage> {
    return this.jobs.page(filter);
  }

  @Permit('record.read')
  @Get(':number')
  @PageOrEvents(
    'One job; or, with Accept: text/event-stream, the job whenever it changes, until it has ended',
    Job,
    { description: 'The job as it is now, then whenever it changes.', data: Job },
  )
  job(
    @Param() { number }: JobPath,
    @Req() request: FastifyRequest | undefined, // undefined when read for a precondition
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Job | StreamableFile | undefined> {
    return request && wantsEvents(request)
      ? this.streams.events(request, reply, number)
      : this.jobs.get(number);
  }

  @Permit('record.read')
  @Delete(':number')
  @HttpCode(204)
  @Answer(
    'Cancels a job that waits or runs, and removes it with its result; that of somebody else by jobs.write',
  )
  async remove(@Param() { number }: JobPath): Promise<void> {
    await this.jobs.remove(number);
  }

  @Permit('record.read')
  @Get(':number/result')
  @ApiHeader({ name: 'If-Match', required: false, description: 'Entity tag of the file: otherwise 412' })
  @ApiHeader({ name: 'If-None-Match', required: false, description: 'Entity tag of the file: its SHA-256' })
  @ApiResponse({
    status: 200,
    description: 'The file, as a download',
    content: Object.fromEntries(
      ['application/zip', 'text/csv'].map((type) => [type, { schema: { type: 'string', format: 'binary' } }]),
    ),
    headers: { ETag: headerReference('ETag'), 'Content-Disposition': headerReference('Content-Disposition') },
  })
  @ApiResponse({ status: 304, description: 'The file is that of the entity tag' })
  @Fails('precondition_failed', 'wrong_state', 'conflict')
  @Answer('The result of a job that is done', StreamableFile)
  async result(
    @Param() { number }: JobPath,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<StreamableFile | undefined> {
    return answerKeptFile(request, reply, await this.jobs.result(number));
  }
}
