import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { Job } from '../../watch/jobs/job.models.js';
import { HandoverInput } from './handover.models.js';
import { HandoverJob } from './handover-job.service.js';

@Resolver()
export class HandoverResolver {
  constructor(private readonly handover: HandoverJob) {}

  @Permit('jobs.write')
  @Mutation(() => Job, {
    description: 'Has the handover package of a project, or of a drive, written by a job',
  })
  postHandover(
    @Args() _path: ProjectPath,
    @Args('input', { description: 'What it is to hold' }) input: HandoverInput,
  ): Promise<Job> {
    return this.handover.ask(input);
  }
}
