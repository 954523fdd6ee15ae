import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { StrokeFlag, StrokePerformance } from './stroke-performance.models.js';
import { StrokePerformanceService } from './stroke-performance.service.js';
import { StatisticsArgs, StrokeStatistic } from './stroke-statistics.models.js';

const StrokePerformanceConnection = connectionOf(StrokePerformance, 'StrokePerformance');

@Heavy()
@Resolver(() => Drive)
export class StrokePerformanceResolver {
  constructor(private readonly performance: StrokePerformanceService) {}

  @Permit('record.read')
  @ResolveField(() => StrokePerformanceConnection, {
    description: 'Performance of the strokes: rates, power, indices, times; by number, a page at a time',
  })
  async strokePerformance(
    @Parent() { code }: Drive,
    @Args() page: PageArgs,
  ): Promise<InstanceType<typeof StrokePerformanceConnection>> {
    return connected(await this.performance.page(code, pageOf(page, -1)), 'number');
  }

  @Permit('record.read')
  @ResolveField(() => [StrokeFlag], {
    description: 'Strokes whose figures lie beyond the machine’s rating or contradict each other',
  })
  async strokeFlags(@Parent() { code }: Drive): Promise<StrokeFlag[]> {
    return (await this.performance.flags(code)).rows();
  }

  @Permit('record.read')
  @ResolveField(() => [StrokeStatistic], {
    description: 'Statistics of the strokes: of the drive, by ground class or by interval',
  })
  async strokeStatistics(@Parent() { code }: Drive, @Args() cut: StatisticsArgs): Promise<StrokeStatistic[]> {
    return (await this.performance.statistics(code, cut)).rowsInTurns();
  }
}
