import { Args, ArgsType, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { CodeField } from '../../../common/api/fields.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { TimedPageArgs } from '../water/inflow.models.js';
import {
  GroutingRound,
  GroutingRoundInput,
  GroutingRoundPath,
  GroutingRoundSummary,
} from './grouting.models.js';
import { GroutingService } from './grouting.service.js';

const GroutingRoundConnection = connectionOf(GroutingRoundSummary, 'GroutingRound');

@ArgsType()
class GroutingRoundArgs {
  @CodeField({ description: 'Name of the round' })
  name: string;
}

@Resolver(() => Drive)
export class GroutingResolver {
  constructor(private readonly grouting: GroutingService) {}

  @Permit('record.read')
  @ResolveField(() => GroutingRoundConnection, {
    description: 'The grouting rounds with what they took, without their holes, by time; a page at a time',
  })
  async groutingRounds(
    @Parent() { code }: Drive,
    @Args() page: TimedPageArgs,
  ): Promise<InstanceType<typeof GroutingRoundConnection>> {
    return connected(await this.grouting.page(code, page), 'name');
  }

  @Permit('record.read')
  @ResolveField(() => GroutingRound, { description: 'One grouting round' })
  groutingRound(@Parent() { code }: Drive, @Args() { name }: GroutingRoundArgs): Promise<GroutingRound> {
    return this.grouting.get(code, name);
  }

  @Permit('probing.write')
  @Mutation(() => GroutingRound, { description: 'Creates or replaces a grouting round, with its holes' })
  putGroutingRound(
    @Args() { drive, name }: GroutingRoundPath,
    @Args('input', { description: 'Its new content' }) input: GroutingRoundInput,
  ): Promise<GroutingRound> {
    return this.grouting.put(drive, name, input);
  }

  @Permit('probing.write')
  @Mutation(() => Boolean, { description: 'Removes a grouting round' })
  async removeGroutingRound(@Args() { drive, name }: GroutingRoundPath): Promise<boolean> {
    await this.grouting.remove(drive, name);
    return true;
  }
}
