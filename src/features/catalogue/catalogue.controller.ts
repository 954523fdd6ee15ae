import { Body, Controller, Get, Param, Put } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../common/api/answer.js';
import { CodeField } from '../../common/api/fields.js';
import { ProjectPath } from '../../common/api/paths.js';
import {
  ActivityCode,
  ActivityCodeInput,
  CalendarShift,
  CalendarShiftInput,
  GroundClass,
  GroundClassInput,
  SupportItem,
  SupportItemInput,
} from './catalogue.models.js';
import { CatalogueService } from './catalogue.service.js';

class CodePath extends ProjectPath {
  @CodeField({ description: 'Code or name of the entry' })
  code: string;
}

@ApiTags('Catalogue')
@Controller('v1/projects/:project')
export class CatalogueController {
  constructor(private readonly catalogue: CatalogueService) {}

  @Get('calendar-shifts')
  @Answer('The shifts of the calendar', [CalendarShift])
  calendarShifts(@Param() { project }: ProjectPath): Promise<CalendarShift[]> {
    return this.catalogue.calendarShifts(project);
  }

  @Put('calendar-shifts/:code')
  @Answer('Creates or replaces a shift of the calendar', CalendarShift)
  putCalendarShift(
    @Param() { project, code }: CodePath,
    @Body() input: CalendarShiftInput,
  ): Promise<CalendarShift> {
    return this.catalogue.putCalendarShift(project, code, input);
  }

  @Get('activity-codes')
  @Answer('The activity codes', [ActivityCode])
  activityCodes(@Param() { project }: ProjectPath): Promise<ActivityCode[]> {
    return this.catalogue.activityCodes(project);
  }

  @Put('activity-codes/:code')
  @Answer('Creates or replaces an activity code', ActivityCode)
  putActivityCode(
    @Param() { project, code }: CodePath,
    @Body() input: ActivityCodeInput,
  ): Promise<ActivityCode> {
    return this.catalogue.putActivityCode(project, code, input);
  }

  @Get('ground-classes')
  @Answer('The ground classes', [GroundClass])
  groundClasses(@Param() { project }: ProjectPath): Promise<GroundClass[]> {
    return this.catalogue.groundClasses(project);
  }

  @Put('ground-classes/:code')
  @Answer('Creates or replaces a ground class', GroundClass)
  putGroundClass(
    @Param() { project, code }: CodePath,
    @Body() input: GroundClassInput,
  ): Promise<GroundClass> {
    return this.catalogue.putGroundClass(project, code, input);
  }

  @Get('support-items')
  @Answer('The support items', [SupportItem])
  supportItems(@Param() { project }: ProjectPath): Promise<SupportItem[]> {
    return this.catalogue.supportItems(project);
  }

  @Put('support-items/:code')
  @Answer('Creates or replaces a support item', SupportItem)
  putSupportItem(
    @Param() { project, code }: CodePath,
    @Body() input: SupportItemInput,
  ): Promise<SupportItem> {
    return this.catalogue.putSupportItem(project, code, input);
  }
}
