import { Controller, Get, Param, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import { ShiftFilter, ShiftPage } from './shift-list.models.js';
import { ShiftListService } from './shift-list.service.js';

@ApiTags('Shifts')
@Controller('v1/projects/:project/drives/:drive/shifts')
export class ShiftListController {
  constructor(private readonly shifts: ShiftListService) {}

  @Permit('record.read')
  @Get()
  @Answer('The posted shifts, by start, with their state, a page at a time', ShiftPage)
  page(@Param() { drive }: DrivePath, @Query() filter: ShiftFilter): Promise<ShiftPage> {
    return this.shifts.page(drive, filter);
  }
}
