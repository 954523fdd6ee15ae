import { Args, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
import { PartiesService } from './parties.service.js';
import { Party, PartyInput, PartyPath } from './party.models.js';

@Resolver(() => Project)
export class PartiesResolver {
  constructor(private readonly service: PartiesService) {}

  @Permit('record.read')
  @ResolveField(() => [Party], { description: 'The parties, by code' })
  parties(): Promise<Party[]> {
    return this.service.list();
  }

  @Permit('project.write')
  @Mutation(() => Party, { description: 'Creates or replaces a party' })
  putParty(
    @Args() { party }: PartyPath,
    @Args('input', { description: 'Its new content' }) input: PartyInput,
  ): Promise<Party> {
    return this.service.put(party, input);
  }

  @Permit('project.write')
  @Mutation(() => Boolean, { description: 'Removes a party that nobody acts for' })
  async removeParty(@Args() { party }: PartyPath): Promise<boolean> {
    await this.service.remove(party);
    return true;
  }
}
