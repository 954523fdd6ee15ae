import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { DayAdvance, ShiftAdvance } from './advance.models.js';
import { AdvanceService } from './advance.service.js';

@Heavy()
@Resolver(() => Drive)
export class AdvanceResolver {
  constructor(private readonly advance: AdvanceService) {}

  @Permit('record.read')
  @ResolveField(() => [ShiftAdvance], { description: 'Advance by shift' })
  async advanceByShift(@Parent() { code }: Drive, @Args() range: DateRange): Promise<ShiftAdvance[]> {
    return (await this.advance.byShift(code, range)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [DayAdvance], { description: 'Advance by production day' })
  async advanceByDay(@Parent() { code }: Drive, @Args() range: DateRange): Promise<DayAdvance[]> {
    return (await this.advance.byDay(code, range)).rowsInTurns();
  }
}
