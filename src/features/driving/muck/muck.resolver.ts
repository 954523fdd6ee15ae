import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { Cautioned, MuckProgress, StrokeMuck } from './muck.models.js';
import { MuckService } from './muck.service.js';

const StrokeMuckConnection = connectionOf(StrokeMuck, 'StrokeMuck', Cautioned);

@Heavy()
@Resolver(() => Drive)
export class MuckResolver {
  constructor(private readonly service: MuckService) {}

  @Permit('record.read')
  @ResolveField(() => StrokeMuckConnection, {
    description:
      'Muck by stroke: theory against the belt weigher, and the load on the belt; a page at a time',
  })
  async muck(
    @Parent() { code }: Drive,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof StrokeMuckConnection>> {
    return connected(await this.service.page(code, pageOf(page, -1)), 'number');
  }

  @Permit('record.read')
  @ResolveField(() => MuckProgress, {
    description: 'Muck to date: theory against the belt weigher',
  })
  muckProgress(@Parent() { code }: Drive): Promise<MuckProgress> {
    return this.service.progress(code);
  }
}
