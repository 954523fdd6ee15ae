import { Args, ArgsType, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { IntField } from '../../../common/api/fields.js';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../../site/projects/project.model.js';
import { Job, JobFilter, JobPath } from './job.models.js';
import { JobsService } from './jobs.service.js';

const JobConnection = connectionOf(Job, 'Job');

@ArgsType()
class JobArgs {
  @IntField({ description: 'Number of the job', min: 1 })
  number: number;
}

@Resolver(() => Project)
export class JobsResolver {
  constructor(private readonly jobs: JobsService) {}

  @Permit('record.read')
  @ResolveField('jobs', () => JobConnection, {
    description: 'The jobs that the caller asked for, by number, a page at a time; with jobs.read, all',
  })
  async page(@Args() filter: JobFilter): Promise<InstanceType<typeof JobConnection>> {
    return connected(await this.jobs.page(filter), 'number');
  }

  @Permit('record.read')
  @ResolveField(() => Job, { description: 'One job' })
  job(@Args() { number }: JobArgs): Promise<Job> {
    return this.jobs.get(number);
  }

  @Permit('record.read')
  @Mutation(() => Boolean, {
    description:
      'Cancels a job that waits or runs, and removes it with its result; that of somebody else by jobs.write',
  })
  async removeJob(@Args() { number }: JobPath): Promise<boolean> {
    await this.jobs.remove(number);
    return true;
  }
}
