import { Args, Mutation, ResolveField, Resolver } from '@nestjs/graphql';
import { Permit } from '../../../common/auth/permit.js';
import { Project } from '../projects/project.model.js';
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

@Resolver(() => Project)
export class CalendarResolver {
  constructor(
    private readonly calendar: CalendarService,
    private readonly closureData: ClosuresService,
  ) {}

  @Permit('record.read')
  @ResolveField(() => [CalendarShift], {
    description: 'The shifts of the calendars, by the date from which each is in force',
  })
  calendarShifts(@Args() { on }: OnDate): Promise<CalendarShift[]> {
    return this.calendar.shifts(on);
  }

  @Permit('record.read')
  @ResolveField(() => [Closure], { description: 'The days on which the site or a drive is closed' })
  closures(): Promise<Closure[]> {
    return this.closureData.list();
  }

  @Permit('catalogue.write')
  @Mutation(() => CalendarShift, {
    description: 'Creates or replaces a shift of the calendar that is valid from the beginning',
  })
  putCalendarShift(
    @Args() { code }: CalendarShiftPath,
    @Args('input', { description: 'Its new content' }) input: CalendarShiftInput,
  ): Promise<CalendarShift> {
    return this.calendar.putShift(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, {
    description:
      'Removes a shift of the calendar that is valid from the beginning, under which none was posted',
  })
  async removeCalendarShift(@Args() { code }: CalendarShiftPath): Promise<boolean> {
    await this.calendar.removeShift(code);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => Calendar, {
    description: 'Creates or replaces the calendar that is in force from a date',
  })
  putCalendar(
    @Args() { validFrom }: CalendarPath,
    @Args('input', { description: 'Its new content' }) input: CalendarInput,
  ): Promise<Calendar> {
    return this.calendar.put(validFrom, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a calendar under which no shift was posted' })
  async removeCalendar(@Args() { validFrom }: CalendarPath): Promise<boolean> {
    await this.calendar.remove(validFrom);
    return true;
  }

  @Permit('catalogue.write')
  @Mutation(() => Closure, { description: 'Creates or replaces a closure' })
  putClosure(
    @Args() { code }: ClosurePath,
    @Args('input', { description: 'Its new content' }) input: ClosureInput,
  ): Promise<Closure> {
    return this.closureData.put(code, input);
  }

  @Permit('catalogue.write')
  @Mutation(() => Boolean, { description: 'Removes a closure' })
  async removeClosure(@Args() { code }: ClosurePath): Promise<boolean> {
    await this.closureData.remove(code);
    return true;
  }
}
