import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { WindowPage } from '../../../common/api/chainage-window.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { SupportIntervalArgs } from '../../support/support/support.models.js';
import {
  OverbreakInput,
  OverbreakInterval,
  OverbreakItem,
  OverbreakPath,
  OverbreakTotal,
} from './overbreak.models.js';
import { OverbreakService } from './overbreak.service.js';

const OverbreakItemConnection = connectionOf(OverbreakItem, 'OverbreakItem');

@Resolver(() => Drive)
export class OverbreakResolver {
  constructor(private readonly service: OverbreakService) {}

  @Permit('record.read')
  @ResolveField(() => OverbreakItemConnection, {
    description: 'The overbreak, or what touches a part of the drive, along the drive; a page at a time',
  })
  async overbreak(
    @Parent() { code }: Drive,
    @Args() page: WindowPage,
  ): Promise<InstanceType<typeof OverbreakItemConnection>> {
    return connected(await this.service.page(code, page), 'name');
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => OverbreakTotal, {
    description: 'Overbreak by cause, against the theoretical volume of the metres surveyed',
  })
  overbreakQuantities(@Parent() { code }: Drive): Promise<OverbreakTotal> {
    return this.service.total(code);
  }

  @Permit('record.read')
  @Heavy()
  @ResolveField(() => [OverbreakInterval], {
    description: 'Overbreak by intervals on round chainages and by cause',
  })
  overbreakQuantitiesByInterval(
    @Parent() { code }: Drive,
    @Args() asked: SupportIntervalArgs,
  ): Promise<OverbreakInterval[]> {
    return this.service.byInterval(code, asked);
  }

  @Permit('geology.write')
  @Mutation(() => OverbreakItem, { description: 'Creates or replaces an item of overbreak' })
  putOverbreak(
    @Args() { drive, name }: OverbreakPath,
    @Args('input', { description: 'Its new content' }) input: OverbreakInput,
  ): Promise<OverbreakItem> {
    return this.service.put(drive, name, input);
  }

  @Permit('geology.write')
  @Mutation(() => Boolean, { description: 'Removes an item of overbreak' })
  async removeOverbreak(@Args() { drive, name }: OverbreakPath): Promise<boolean> {
    await this.service.remove(drive, name);
    return true;
  }
}
