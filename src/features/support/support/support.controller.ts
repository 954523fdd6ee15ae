import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import {
  SupportByDay,
  SupportByGroundClass,
  SupportByInterval,
  SupportIntervalArgs,
  SupportQuantity,
} from './support.models.js';
import { SupportService } from './support.service.js';

@ApiTags('Support quantities')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/support-quantities')
export class SupportController {
  constructor(private readonly support: SupportService) {}

  @Permit('record.read')
  @Get()
  @Answer('Support installed by item and zone', [SupportQuantity])
  total(@Param() { drive }: DrivePath): Promise<SupportQuantity[]> {
    return this.support.total(drive);
  }

  @Permit('record.read')
  @Get('days')
  @Answer('Support installed by production day, item and zone', [SupportByDay])
  byDay(@Param() { drive }: DrivePath, @Query() days: DateRange): Promise<JsonRows<SupportByDay>> {
    return this.support.byDay(drive, days);
  }

  @Permit('record.read')
  @Get('ground-classes')
  @Answer('Support installed by ground class, item and zone', [SupportByGroundClass])
  byGroundClass(@Param() { drive }: DrivePath): Promise<SupportByGroundClass[]> {
    return this.support.byGroundClass(drive);
  }

  @Permit('record.read')
  @Get('intervals')
  @Answer(
    'Support installed by intervals on round chainages, item and zone; with from and to: the intervals that reach into the part, each whole',
    [SupportByInterval],
  )
  byInterval(
    @Param() { drive }: DrivePath,
    @Query() asked: SupportIntervalArgs,
  ): Promise<JsonRows<SupportByInterval>> {
    return this.support.byInterval(drive, asked);
  }
}
