import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../common/api/answer.js';
import { DrivePath } from '../../common/api/paths.js';
import { DateRange, DayAdvance, ShiftAdvance } from './advance.models.js';
import { AdvanceService } from './advance.service.js';

@ApiTags('Advance')
@Controller('v1/projects/:project/drives/:drive/advance')
export class AdvanceController {
  constructor(private readonly advance: AdvanceService) {}

  @Get('shifts')
  @Answer('Advance by shift', [ShiftAdvance])
  byShift(@Param() { project, drive }: DrivePath, @Query() range: DateRange): Promise<ShiftAdvance[]> {
    return this.advance.byShift(project, drive, range);
  }

  @Get('days')
  @Answer('Advance by production day', [DayAdvance])
  byDay(@Param() { project, drive }: DrivePath, @Query() range: DateRange): Promise<DayAdvance[]> {
    return this.advance.byDay(project, drive, range);
  }
}
