import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import { Drive } from '../../site/drives/drive.model.js';
import { DailyReport, DailyReportArgs } from './daily-report.models.js';
import { DailyReportService } from './daily-report.service.js';

@Heavy()
@Resolver(() => Drive)
export class DailyReportResolver {
  constructor(private readonly reports: DailyReportService) {}

  @Permit('record.read')
  @ResolveField(() => DailyReport, {
    description: 'The report of a production day: its shifts and the totals of the day',
  })
  dailyReport(@Parent() { code }: Drive, @Args() { date }: DailyReportArgs): Promise<DailyReport> {
    return this.reports.get(code, date);
  }
}
