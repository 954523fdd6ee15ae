import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import { Advance } from './advance.models.js';
import { RollingAdvance } from './face.models.js';

@ObjectType({
  description: 'Advance of an ISO week, a month or a quarter of production days, from report.period_advance.',
})
export class PeriodAdvance extends Advance {
  @TextField({ description: 'Name of the period: 2027-W09, 2027-03 or 2027-Q1' })
  period: string;

  @DateField({ description: 'Its first production day' })
  firstDay: string;

  @DateField({ description: 'Its last production day, also where the record ends earlier' })
  lastDay: string;

  @InstantField({ description: 'When it begins' })
  startsAt: string;

  @InstantField({ description: 'When it ends' })
  endsAt: string;

  @IntField({ description: 'Its production days from the drive’s first to its last' })
  dayCount: number;

  @IntField({ description: 'Those of them with boring' })
  daysWithBoring: number;

  @DecimalField({ description: 'Mean advance of these production days [m/d]' })
  meanMPerDay: string;
}

@ObjectType({ description: 'A production day and its moving averages, from report.day_advance_trend.' })
export class DayAdvanceTrend {
  @DateField({ description: 'Local date on which the production day begins' })
  productionDay: string;

  @DecimalField({ description: 'Metres bored in it, by boring time; 0 when none [m]' })
  advanceM: string;

  @DecimalField({
    description: 'Mean of the 7 production days that end with it; absent before the seventh [m/d]',
    optional: true,
  })
  mean7DaysM?: string;

  @DecimalField({
    description: 'Mean of the 30 production days that end with it; absent before the thirtieth [m/d]',
    optional: true,
  })
  mean30DaysM?: string;

  @DecimalField({ description: 'Sum of this and all earlier advance of the drive [m]' })
  cumulativeM: string;
}

export enum WindowKind {
  shift = 'shift',
  production_day = 'production_day',
  rolling_24_h = 'rolling_24_h',
  week = 'week',
  month = 'month',
}

registerEnum(WindowKind, {
  name: 'WindowKind',
  description: 'rolling_24_h: any 24 hours that follow one another; week: an ISO week.',
  values: {
    rolling_24_h: 'Any 24 hours',
    shift: 'Shift',
    production_day: 'Production day',
    week: 'ISO week',
    month: 'Month',
  },
});

@ObjectType({
  description:
    'The largest advance in a kind of window, from report.best_advance; of equal ones the earliest.',
})
export class BestAdvance extends RollingAdvance {
  @EnumField({ description: 'What kind of window', values: WindowKind, name: 'WindowKind' })
  kind: WindowKind;

  @TextField({
    description: 'Which one: date and name of the shift, the day, 2027-W09 or 2027-03; absent for any 24 h',
    optional: true,
  })
  label?: string;
}

@ObjectType({
  description:
    'Mean advance per calendar day on the first metres of the drive against the rest, from report.learning_advance. ' +
    'It shows learning only as far as the ground is comparable.',
})
export class LearningAdvance {
  @DecimalField({ description: 'Length from the start of the drive that counts as first [m]' })
  firstLengthM: string;

  @InstantField({ description: 'When the face passed it; absent when it has not', optional: true })
  passedAt?: string;

  @DecimalField({ description: 'Metres bored on it, with times [m]' })
  firstM: string;

  @DecimalField({ description: 'From the first timed boring until then, in days of 24 h [d]', decimals: 4 })
  firstDays: string;

  @DecimalField({ description: 'Mean advance on it; absent when it took no time [m/d]', optional: true })
  firstMeanMPerDay?: string;

  @DecimalField({ description: 'Metres bored beyond it, with times [m]' })
  restM: string;

  @DecimalField({
    description: 'From then to the end of the last timed boring, in days of 24 h [d]',
    decimals: 4,
    optional: true,
  })
  restDays?: string;

  @DecimalField({ description: 'Mean advance beyond it [m/d]', optional: true })
  restMeanMPerDay?: string;

  @DecimalField({ description: 'Metres of the drive bored without times: in neither part [m]' })
  untimedM: string;
}
