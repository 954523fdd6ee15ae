import { Body, Controller, Delete, Get, HttpCode, Param, Put, Query } from '@nestjs/common';
import { ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Permit } from '../../../common/auth/permit.js';
import {
  Calendar,
  CalendarInput,
  CalendarPath,
  CalendarShift,
  CalendarShiftInput,
  CalendarShiftPath,
  Closure,
  ClosureInput,
  ClosurePath,
  OnDate,
} from './calendar.models.js';
import { CalendarService } from './calendar.service.js';
import { ClosuresService } from './closures.service.js';

@ApiTags('Calendar')
@Controller('v1/projects/:project')
export class CalendarController {
  constructor(
    private readonly calendar: CalendarService,
    private readonly closures: ClosuresService,
  ) {}

  @Permit('record.read')
  @Get('calendar-shifts')
  @Answer('The shifts of the calendars, by the date from which each is in force', [CalendarShift])
  shifts(@Param() _path: ProjectPath, @Query() { on }: OnDate): Promise<CalendarShift[]> {
    return this.calendar.shifts(on);
  }

  @Permit('record.read')
  @Get('calendar-shifts/:code')
  @Answer('One shift of the calendar that is valid from the beginning', CalendarShift)
  shift(@Param() { code }: CalendarShiftPath): Promise<CalendarShift> {
    return this.calendar.shift(code);
  }

  @Permit('catalogue.write')
  @Put('calendar-shifts/:code')
  @Answer('Creates or replaces a shift of the calendar that is valid from the beginning', CalendarShift)
  putShift(@Param() { code }: CalendarShiftPath, @Body() input: CalendarShiftInput): Promise<CalendarShift> {
    return this.calendar.putShift(code, input);
  }

  @Permit('catalogue.write')
  @Delete('calendar-shifts/:code')
  @HttpCode(204)
  @Answer('Removes a shift of the calendar that is valid from the beginning, under which none was posted')
  async removeShift(@Param() { code }: CalendarShiftPath): Promise<void> {
    await this.calendar.removeShift(code);
  }

  @Permit('record.read')
  @Get('calendars/:validFrom')
  @Answer('The calendar that is in force from a date', Calendar)
  get(@Param() { validFrom }: CalendarPath): Promise<Calendar> {
    return this.calendar.get(validFrom);
  }

  @Permit('catalogue.write')
  @Put('calendars/:validFrom')
  @Answer('Creates or replaces the calendar that is in force from a date', Calendar)
  put(@Param() { validFrom }: CalendarPath, @Body() input: CalendarInput): Promise<Calendar> {
    return this.calendar.put(validFrom, input);
  }

  @Permit('catalogue.write')
  @Delete('calendars/:validFrom')
  @HttpCode(204)
  @Answer('Removes a calendar under which no shift was posted')
  async remove(@Param() { validFrom }: CalendarPath): Promise<void> {
    await this.calendar.remove(validFrom);
  }

  @Permit('record.read')
  @Get('closures')
  @Answer('The days on which the site or a drive is closed', [Closure])
  listClosures(@Param() _path: ProjectPath): Promise<Closure[]> {
    return this.closures.list();
  }

  @Permit('record.read')
  @Get('closures/:code')
  @Answer('One closure', Closure)
  closure(@Param() { code }: ClosurePath): Promise<Closure> {
    return this.closures.get(code);
  }

  @Permit('catalogue.write')
  @Put('closures/:code')
  @Answer('Creates or replaces a closure', Closure)
  putClosure(@Param() { code }: ClosurePath, @Body() input: ClosureInput): Promise<Closure> {
    return this.closures.put(code, input);
  }

  @Permit('catalogue.write')
  @Delete('closures/:code')
  @HttpCode(204)
  @Answer('Removes a closure')
  async removeClosure(@Param() { code }: ClosurePath): Promise<void> {
    await this.closures.remove(code);
  }
}
