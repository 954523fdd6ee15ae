import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonText } from '../../../common/database/json-rows.js';
import {
  IntervalPageArgs,
  SupportMeasureIntervalPage,
  SupportMeasures,
  SupportMeasuresByDay,
  SupportMeasuresByGroundClass,
} from './support-measure.models.js';
import { SupportMeasureService } from './support-measure.service.js';

@ApiTags('Support quantities')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/support-measures')
export class SupportMeasureController {
  constructor(private readonly measures: SupportMeasureService) {}

  @Permit('record.read')
  @Get()
  @Answer('What the support measures by item and zone', SupportMeasures)
  total(@Param() { drive }: DrivePath): Promise<SupportMeasures> {
    return this.measures.total(drive);
  }

  @Permit('record.read')
  @Get('days')
  @Answer('What the support measures by production day, item and zone', SupportMeasuresByDay)
  byDay(@Param() { drive }: DrivePath, @Query() days: DateRange): Promise<JsonText<SupportMeasuresByDay>> {
    return this.measures.byDay(drive, days);
  }

  @Permit('record.read')
  @Get('ground-classes')
  @Answer('What the support measures by ground class, item and zone', SupportMeasuresByGroundClass)
  byGroundClass(@Param() { drive }: DrivePath): Promise<SupportMeasuresByGroundClass> {
    return this.measures.byGroundClass(drive);
  }

  @Permit('record.read')
  @Get('intervals')
  @Answer(
    'What the support measures by intervals on round chainages, item and zone; a page at a time',
    SupportMeasureIntervalPage,
  )
  byInterval(
    @Param() { drive }: DrivePath,
    @Query() asked: IntervalPageArgs,
  ): Promise<JsonText<SupportMeasureIntervalPage>> {
    return this.measures.byInterval(drive, asked);
  }
}
