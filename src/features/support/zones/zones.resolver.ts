import { Args, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../../site/projects/project.model.js';
import { Zone, ZoneInput, ZonePath } from './zone.model.js';
import { ZonesService } from './zones.service.js';

@Resolver(() => Project)
export class ZonesResolver {
  constructor(private readonly service: ZonesService) {}

  @Permit('record.read')
  @ResolveField(() => [Zone], { description: 'The working zones, from the face backwards' })
  zones(): Promise<Zone[]> {
    return this.service.list();
  }

  @Permit('catalogue.write')
  @Mutation(() => Zone, { description: 'Creates or replaces a working zone' })
  putZone(
    @Args() { code }: ZonePath,
    @Args('input', { description: 'Its new content' }) input: ZoneInput,
  ): Promise<Zone> {
    return this.service.put(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a working zone that nothing uses' })
  async removeZone(@Args() { code }: ZonePath): Promise<boolean> {
    await this.service.remove(code);
    return true;
  }
}
