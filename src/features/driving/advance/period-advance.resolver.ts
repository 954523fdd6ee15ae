import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { BestAdvance, DayAdvanceTrend, LearningAdvance, PeriodAdvance } from './period-advance.models.js';
import { PeriodAdvanceService } from './period-advance.service.js';

@Heavy()
@Resolver(() => Drive)
export class PeriodAdvanceResolver {
  constructor(private readonly advance: PeriodAdvanceService) {}

  @Permit('record.read')
  @ResolveField(() => [PeriodAdvance], {
    description: 'Advance by ISO week of production days; with dates: the weeks that touch them',
  })
  async advanceByWeek(@Parent() { code }: Drive, @Args() range: DateRange): Promise<PeriodAdvance[]> {
    return (await this.advance.byWeek(code, range)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [PeriodAdvance], {
    description: 'Advance by month of production days; with dates: the months that touch them',
  })
  async advanceByMonth(@Parent() { code }: Drive, @Args() range: DateRange): Promise<PeriodAdvance[]> {
    return (await this.advance.byMonth(code, range)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [PeriodAdvance], {
    description: 'Advance by quarter of production days; with dates: the quarters that touch them',
  })
  async advanceByQuarter(@Parent() { code }: Drive, @Args() range: DateRange): Promise<PeriodAdvance[]> {
    return (await this.advance.byQuarter(code, range)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [DayAdvanceTrend], {
    description: 'Advance by production day with its moving averages over 7 and 30 days',
  })
  async advanceTrend(@Parent() { code }: Drive, @Args() range: DateRange): Promise<DayAdvanceTrend[]> {
    return (await this.advance.trend(code, range)).rowsInTurns();
  }

  @Permit('record.read')
  @ResolveField(() => [BestAdvance], {
    description: 'The best shift, production day, 24 hours, ISO week and month',
  })
  bestAdvance(@Parent() { code }: Drive): Promise<BestAdvance[]> {
    return this.advance.best(code);
  }

  @Permit('record.read')
  @ResolveField(() => [LearningAdvance], {
    description: 'Mean advance on the first 500 m and 1000 m against the rest',
  })
  learningAdvance(@Parent() { code }: Drive): Promise<LearningAdvance[]> {
    return this.advance.learning(code);
  }
}
