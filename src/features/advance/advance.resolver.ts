import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Drive } from '../drives/drive.model.js';
import { DateRange, DayAdvance, ShiftAdvance } from './advance.models.js';
import { AdvanceService } from './advance.service.js';

@Resolver(() => Drive)
export class AdvanceResolver {
  constructor(private readonly advance: AdvanceService) {}

  @ResolveField(() => [ShiftAdvance], { description: 'Advance by shift' })
  advanceByShift(@Parent() { project, code }: Drive, @Args() range: DateRange): Promise<ShiftAdvance[]> {
    return this.advance.byShift(project, code, range);
  }

  @ResolveField(() => [DayAdvance], { description: 'Advance by production day' })
  advanceByDay(@Parent() { project, code }: Drive, @Args() range: DateRange): Promise<DayAdvance[]> {
    return this.advance.byDay(project, code, range);
  }
}
