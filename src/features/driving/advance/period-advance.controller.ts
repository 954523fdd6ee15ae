import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { BestAdvance, DayAdvanceTrend, LearningAdvance, PeriodAdvance } from './period-advance.models.js';
import { PeriodAdvanceService } from './period-advance.service.js';

@ApiTags('Advance')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/advance')
export class PeriodAdvanceController {
  constructor(private readonly advance: PeriodAdvanceService) {}

  @Permit('record.read')
  @Get('weeks')
  @Answer('Advance by ISO week of production days; with dates: the weeks that touch them', [PeriodAdvance])
  byWeek(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.advance.byWeek(drive, range);
  }

  @Permit('record.read')
  @Get('months')
  @Answer('Advance by month of production days; with dates: the months that touch them', [PeriodAdvance])
  byMonth(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.advance.byMonth(drive, range);
  }

  @Permit('record.read')
  @Get('quarters')
  @Answer('Advance by quarter of production days; with dates: the quarters that touch them', [PeriodAdvance])
  byQuarter(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.advance.byQuarter(drive, range);
  }

  @Permit('record.read')
  @Get('trend')
  @Answer('Advance by production day with its moving averages over 7 and 30 days', [DayAdvanceTrend])
  trend(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<DayAdvanceTrend>> {
    return this.advance.trend(drive, range);
  }

  @Permit('record.read')
  @Get('best')
  @Answer('The best shift, production day, 24 hours, ISO week and month', [BestAdvance])
  best(@Param() { drive }: DrivePath): Promise<BestAdvance[]> {
    return this.advance.best(drive);
  }

  @Permit('record.read')
  @Get('learning')
  @Answer('Mean advance on the first 500 m and 1000 m against the rest', [LearningAdvance])
  learning(@Param() { drive }: DrivePath): Promise<LearningAdvance[]> {
    return this.advance.learning(drive);
  }
}
