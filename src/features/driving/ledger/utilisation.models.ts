import { ObjectType } from '@nestjs/graphql';
import {
  CodeField,
  DateField,
  DecimalField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';

@ObjectType({ description: 'Boring time over four bases, from report.utilisation.' })
export class Utilisation {
  @TextField({
    description: 'Week (2027-W09) or month (2027-03); absent of the drive',
    maxLength: 8,
    optional: true,
  })
  period?: string;

  @DateField({ description: 'First production day of it in the record' })
  firstDay: string;

  @DateField({ description: 'Last production day of it in the record' })
  lastDay: string;

  @DecimalField({ description: 'Time that counts as boring [h]', decimals: 4, rounded: true })
  boringHours: string;

  @DecimalField({ description: 'Length of the shifts, booked or not [h]', decimals: 4, rounded: true })
  shiftHours: string;

  @DecimalField({
    description: 'Length of the shifts, excluding what is booked as outside working time [h]',
    decimals: 4,
    rounded: true,
  })
  workingHours: string;

  @DecimalField({
    description:
      'Time from the start of the drive’s first shift to the end of its last, closures of the site included [h]',
    decimals: 4,
    rounded: true,
  })
  calendarHours: string;

  @DecimalField({
    description: 'Boring over shift time; absent if there is none',
    decimals: 6,
    optional: true,
  })
  ofShiftTime?: string;

  @DecimalField({
    description: 'Boring over working time; absent if there is none',
    decimals: 6,
    optional: true,
  })
  ofWorkingTime?: string;

  @DecimalField({ description: 'Boring over calendar time', decimals: 6 })
  ofCalendarTime: string;

  @DecimalField({
    description: 'Part of the calendar time on closed days, outside of any shift [h]',
    decimals: 4,
    rounded: true,
  })
  closedHours: string;

  @DecimalField({ description: 'Part of the closed hours that was planned [h]', decimals: 4, rounded: true })
  plannedClosedHours: string;

  @DecimalField({
    description: 'Boring over calendar time less planned closed hours; absent when nothing is left',
    decimals: 6,
    optional: true,
  })
  ofOpenTime?: string;
}

@ObjectType({ isAbstract: true })
abstract class ReliabilityFigures {
  @DecimalField({ description: 'Boring and regripping of the drive [h]', decimals: 4, rounded: true })
  operatingHours: string;

  @DecimalField({ description: 'Time that counts as breakdown [h]', decimals: 4, rounded: true })
  repairHours: string;

  @IntField({ description: 'Failures that began: adjoining breakdown time is one, across shifts too' })
  failureCount: number;

  @DecimalField({
    description: 'Operating hours over failures; absent without a failure [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  mtbfHours?: string;

  @DecimalField({
    description: 'Repair hours over failures; absent without a failure [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  mttrHours?: string;

  @DecimalField({
    description: 'Operating hours over operating and repair hours; absent when both are 0',
    decimals: 6,
    optional: true,
  })
  availability?: string;
}

@ObjectType({ description: 'Reliability of a piece of equipment, from report.reliability_by_equipment.' })
export class EquipmentReliability extends ReliabilityFigures {
  @CodeField({ description: 'Code of the equipment; absent where the breakdowns name none', optional: true })
  equipment?: string;

  @CodeField({ description: 'Code of breakdowns that name no equipment', optional: true })
  code?: string;

  @TextField({ description: 'What the equipment is, or the code stands for' })
  description: string;
}

@ObjectType({
  description: 'Mechanical availability of the drive, MTBF and MTTR, from report.reliability.',
})
export class Reliability extends ReliabilityFigures {
  @ListField(() => EquipmentReliability, { description: 'The same by equipment' })
  equipment: EquipmentReliability[];
}
