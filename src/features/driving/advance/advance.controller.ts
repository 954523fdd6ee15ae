import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { Heavy } from '../../../common/auth/heavy.js';
import { Permit } from '../../../common/auth/permit.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { DayAdvance, ShiftAdvance } from './advance.models.js';
import { AdvanceService } from './advance.service.js';

@ApiTags('Advance')
@Heavy()
@Controller('v1/projects/:project/drives/:drive/advance')
export class AdvanceController {
  constructor(private readonly advance: AdvanceService) {}

  @Permit('record.read')
  @Get('shifts')
  @Answer('Advance by shift', [ShiftAdvance])
  byShift(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<ShiftAdvance>> {
    return this.advance.byShift(drive, range);
  }

  @Permit('record.read')
  @Get('days')
  @Answer('Advance by production day', [DayAdvance])
  byDay(@Param() { drive }: DrivePath, @Query() range: DateRange): Promise<JsonRows<DayAdvance>> {
    return this.advance.byDay(drive, range);
  }
}
