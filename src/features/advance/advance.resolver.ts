import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../common/auth/permit.js';
import { Drive } from '../drives/drive.model.js';
import { DateRange, DayAdvance, ShiftAdvance } from './advance.models.js';
import { AdvanceService } from './advance.service.js';

@Resolver(() => Drive)
export class AdvanceResolver {
  constructor(private readonly advance: AdvanceService) {}

  @Permit('record.read')
  @ResolveField(() => [ShiftAdvance], { description: 'Advance by shift' })
  advanceByShift(@Parent() { code }: Drive, @Args() range: DateRange): Promise<ShiftAdvance[]> {
    return this.advance.byShift(code, range);
  }

  @Permit('record.read')
  @ResolveField(() => [DayAdvance], { description: 'Advance by production day' })
  advanceByDay(@Parent() { code }: Drive, @Args() range: DateRange): Promise<DayAdvance[]> {
    return this.advance.byDay(code, range);
  }
}
