import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { PageArgs, pageOf } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { StrokeFlag, StrokePerformancePage } from './stroke-performance.models.js';
import { StrokePerformanceService } from './stroke-performance.service.js';
import { StatisticsArgs, StrokeStatistic } from './stroke-statistics.models.js';

@ApiTags('Strokes')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/strokes')
export class StrokePerformanceController {
  constructor(private readonly performance: StrokePerformanceService) {}

  @Permit('record.read')
  @Get('performance')
  @Answer(
    'Performance of the strokes of a drive: rates, power, indices, times; by number, a page at a time',
    StrokePerformancePage,
  )
  page(@Param() { drive }: DrivePath, @Query() page: PageArgs): Promise<StrokePerformancePage> {
    return this.performance.page(drive, pageOf(page, -1));
  }

  @Permit('record.read')
  @Get('flags')
  @Answer('Strokes whose figures lie beyond the machine’s rating or contradict each other', [StrokeFlag])
  flags(@Param() { drive }: DrivePath): Promise<JsonRows<StrokeFlag>> {
    return this.performance.flags(drive);
  }

  @Permit('record.read')
  @Get('statistics')
  @Answer('Statistics of the strokes: of the drive, by ground class or by interval', [StrokeStatistic])
  statistics(
    @Param() { drive }: DrivePath,
    @Query() cut: StatisticsArgs,
  ): Promise<JsonRows<StrokeStatistic>> {
    return this.performance.statistics(drive, cut);
  }
}
