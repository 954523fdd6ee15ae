import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { ArrayMinSize } from 'class-validator';
import {
  BooleanField,
  CodeField,
  DateField,
  IntListField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { IsNotBefore, IsUnique, Names } from '../../../common/api/rules.js';
import { IsTimeOfDay } from '../projects/project.model.js';

@ArgsType()
export class CalendarShiftPath extends ProjectPath {
  @CodeField({ description: 'Name of the shift' })
  code: string;
}

@ArgsType()
export class CalendarPath extends ProjectPath {
  @DateField({ description: 'Date from which the calendar is in force' })
  validFrom: string;
}

@ArgsType()
export class ClosurePath extends ProjectPath {
  @CodeField({ description: 'Code of the closure' })
  code: string;
}

@ArgsType()
export class OnDate {
  @DateField({ description: 'Only those in force on this date', optional: true })
  on?: string;
}

@InputType({ description: 'When a shift of the calendar begins and ends, in local time.' })
@ObjectType({ isAbstract: true })
export class CalendarShiftInput {
  @TextField({ description: 'Local time at which the shift starts, HH:MM', maxLength: 5 })
  @IsTimeOfDay()
  startTime: string;

  @TextField({
    description: 'Local time at which it ends; on the next day when not later than the start, HH:MM',
    maxLength: 5,
  })
  @IsTimeOfDay()
  endTime: string;

  @IntListField({ description: 'ISO weekdays on which it is worked, 1 Monday to 7 Sunday', min: 1, max: 7 })
  @ArrayMinSize(1)
  @IsUnique()
  weekdays: number[];
}

@ObjectType({
  description: 'A shift of a calendar of the project. A shift belongs to the date on which it starts.',
})
export class CalendarShift extends CalendarShiftInput {
  @CodeField({ description: 'Name of the shift, such as day or night' })
  name: string;

  @DateField({
    description: 'Date from which its calendar is in force; absent: from the beginning',
    optional: true,
  })
  validFrom?: string;

  @DateField({
    description: 'Last date on which its calendar is in force; absent: no later calendar is known',
    optional: true,
  })
  validUntil?: string;
}

@ObjectType({ description: 'The calendar of the project that is in force from a date.' })
export class Calendar {
  @DateField({ description: 'Date from which it is in force' })
  validFrom: string;

  @ListField(() => CalendarShift, { description: 'Its shifts, by name', max: 20 })
  shifts: CalendarShift[];
}

@InputType({ description: 'A shift of a calendar with its name.' })
export class NamedCalendarShiftInput extends CalendarShiftInput {
  @CodeField({ description: 'Name of the shift, such as day or night' })
  name: string;
}

@InputType({ description: 'The shifts of the project from a date on.' })
export class CalendarInput {
  @ListField(() => NamedCalendarShiftInput, {
    description: 'All shifts of the calendar; those of earlier calendars end with the day before',
    max: 20,
  })
  @ArrayMinSize(1)
  shifts: NamedCalendarShiftInput[];
}

@InputType({ description: 'Days on which no shift is expected, as put.' })
@ObjectType({ isAbstract: true })
export class ClosureInput {
  @Names('state what the closure is')
  @TextField({ description: 'What the closure is, such as Christmas break' })
  name: string;

  @DateField({ description: 'First closed date' })
  fromDate: string;

  @IsNotBefore('fromDate')
  @DateField({ description: 'Last closed date, at most ten years after the first' })
  toDate: string;

  @BooleanField({ description: 'Whether the programme planned it, as it does holidays' })
  planned: boolean;

  @CodeField({ description: 'Code of the drive that is closed; absent: the whole site', optional: true })
  drive?: string;
}

@ObjectType({
  description:
    'Days on which no shift is expected: a holiday, a break, a stop. A shift that was not posted on them is no open item.',
})
export class Closure extends ClosureInput {
  @CodeField({ description: 'Code of the closure' })
  code: string;
}
