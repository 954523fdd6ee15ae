import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { connected, connectionOf } from '../../../common/api/connection.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import {
  Cautioned,
  IntervalPageArgs,
  MeasuredInterval,
  type SupportMeasureByInterval,
  SupportMeasures,
  SupportMeasuresByDay,
  SupportMeasuresByGroundClass,
} from './support-measure.models.js';
import { SupportMeasureService } from './support-measure.service.js';

const MeasuredIntervalConnection = connectionOf(MeasuredInterval, 'MeasuredInterval', Cautioned);

/** `first` counts intervals, so each entry is an interval with its consecutive rows. */
const byInterval = (rows: SupportMeasureByInterval[]): MeasuredInterval[] => {
  const intervals: MeasuredInterval[] = [];
  for (const row of rows) {
    const { interval, from, to } = row;
    if (intervals.at(-1)?.interval !== interval) intervals.push({ interval, from, to, items: [] });
    intervals.at(-1)?.items.push(row);
  }
  return intervals;
};

@Heavy()
@Resolver(() => Drive)
export class SupportMeasureResolver {
  constructor(private readonly measures: SupportMeasureService) {}

  @Permit('record.read')
  @ResolveField(() => SupportMeasures, { description: 'What the support measures by item and zone' })
  supportMeasures(@Parent() { code }: Drive): Promise<SupportMeasures> {
    return this.measures.total(code);
  }

  @Permit('record.read')
  @ResolveField(() => SupportMeasuresByDay, {
    description: 'What the support measures by production day, item and zone',
  })
  async supportMeasuresByDay(
    @Parent() { code }: Drive,
    @Args() days: DateRange,
  ): Promise<SupportMeasuresByDay> {
    return (await this.measures.byDay(code, days)).value();
  }

  @Permit('record.read')
  @ResolveField(() => SupportMeasuresByGroundClass, {
    description: 'What the support measures by ground class, item and zone',
  })
  supportMeasuresByGroundClass(@Parent() { code }: Drive): Promise<SupportMeasuresByGroundClass> {
    return this.measures.byGroundClass(code);
  }

  @Permit('record.read')
  @ResolveField(() => MeasuredIntervalConnection, {
    description: 'What the support measures by intervals on round chainages, item and zone; a page at a time',
  })
  async supportMeasuresByInterval(
    @Parent() { code }: Drive,
    @Args() asked: IntervalPageArgs,
  ): Promise<InstanceType<typeof MeasuredIntervalConnection>> {
    const page = (await this.measures.byInterval(code, asked)).value();
    return connected({ ...page, items: byInterval(page.items) }, 'interval');
  }
}
