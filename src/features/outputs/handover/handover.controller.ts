import { Body, Controller, HttpCode, Param, Post, Res } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Answer, Fails } from '../../../common/api/answer.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Job } from '../../watch/jobs/job.models.js';
import { HandoverInput } from './handover.models.js';
import { HandoverJob } from './handover-job.service.js';

@ApiTags('Handover')
@Controller('v1/projects/:project/handover')
export class HandoverController {
  constructor(private readonly handover: HandoverJob) {}

  @Permit('jobs.write')
  @Post()
  @HttpCode(202)
  @Fails('conflict')
  @Answer(
    'Has the handover package of a project, or of a drive, written by a job: see its Location',
    Job,
    202,
  )
  async ask(
    @Param() { project }: ProjectPath,
    @Body() input: HandoverInput,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<Job> {
    const job = await this.handover.ask(input);
    void reply.header('location', `/v1/projects/${encodeURIComponent(project)}/jobs/${job.number}`);
    return job;
  }
}
