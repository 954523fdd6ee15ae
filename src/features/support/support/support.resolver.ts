import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  SupportByDay,
  SupportByGroundClass,
  SupportByInterval,
  SupportIntervalArgs,
  SupportQuantity,
} from './support.models.js';
import { SupportService } from './support.service.js';

@Heavy()
@Resolver(() => Drive)
export class SupportResolver {
  constructor(private readonly support: SupportService) {}

  @Permit('record.read')
  @ResolveField(() => [SupportQuantity], { description: 'Support installed by item and zone' })
  supportQuantities(@Parent() { code }: Drive): Promise<SupportQuantity[]> {
    return this.support.total(code);
  }

  @Permit('record.read')
  @ResolveField(() => [SupportByDay], { description: 'Support installed by production day, item and zone' })
  async supportQuantitiesByDay(@Parent() { code }: Drive, @Args() days: DateRange): Promise<SupportByDay[]> {
    return (await this.support.byDay(code, days)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [SupportByGroundClass], {
    description: 'Support installed by ground class, item and zone',
  })
  supportQuantitiesByGroundClass(@Parent() { code }: Drive): Promise<SupportByGroundClass[]> {
    return this.support.byGroundClass(code);
  }

  @Permit('record.read')
  @ResolveField(() => [SupportByInterval], {
    description:
      'Support installed by intervals on round chainages, item and zone; with from and to: the intervals that reach into the part, each whole',
  })
  async supportQuantitiesByInterval(
    @Parent() { code }: Drive,
    @Args() asked: SupportIntervalArgs,
  ): Promise<SupportByInterval[]> {
    return (await this.support.byInterval(code, asked)).rowsInTurns();
  }
}
