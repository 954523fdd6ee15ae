import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { Stroke } from './stroke.model.js';

@ObjectType({
  description:
    'Performance of a stroke, from report.stroke_performance. The following stroke is the one that begins where it ends.',
})
export class StrokePerformance extends Stroke {
  @NumberField({ description: 'Mean power of the cutterhead [kW]', optional: true })
  powerKw?: number;

  @NumberField({ description: 'Torque penetration index [kNm per mm/rev]', optional: true })
  torquePenetrationIndex?: number;

  @NumberField({
    description:
      'Net penetration rate by the clock: metres bored with times over their boring time; penetrationRateMPerH is by penetration and rotation [m/h]',
    optional: true,
  })
  timedPenetrationRateMPerH?: number;

  @DecimalField({
    description:
      'Time booked as regripping until the next stroke begins, in the same shift or the one that adjoins; absent when none is booked or no stroke follows [min]',
    decimals: 2,
    optional: true,
  })
  regripMinutes?: string;

  @DecimalField({
    description: 'From its start to the start of the stroke that follows [min]',
    decimals: 2,
    optional: true,
  })
  cycleMinutes?: string;

  @CodeField({ description: 'Ground class noted at its middle', optional: true })
  groundClass?: string;
}

@ObjectType({ description: 'A page of strokes with their performance, by number.' })
export class StrokePerformancePage {
  @ListField(() => StrokePerformance, { description: 'The strokes', max: 1000 })
  items: StrokePerformance[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}

export enum StrokeFlagKind {
  thrust_per_disc_above_rating = 'thrust_per_disc_above_rating',
  torque_above_rating = 'torque_above_rating',
  power_above_installed = 'power_above_installed',
  thrust_above_rating = 'thrust_above_rating',
  stroke_longer_than_machine = 'stroke_longer_than_machine',
  thrust_too_low = 'thrust_too_low',
  torque_too_low = 'torque_too_low',
  rate_too_high = 'rate_too_high',
  rate_too_low = 'rate_too_low',
  rates_differ = 'rates_differ',
}

registerEnum(StrokeFlagKind, {
  name: 'StrokeFlagKind',
  description:
    'What lies beyond the machine’s rating or the limits of doubt; rates_differ: penetration and rotation contradict length and boring time by more than 10 %.',
  values: {
    power_above_installed: 'Power above the installed power',
    rate_too_high: 'Penetration rate above the limit',
    rate_too_low: 'Penetration rate below the limit',
    rates_differ: 'Penetration and rotation contradict length and boring time by more than 10 %',
    stroke_longer_than_machine: 'Longer than a stroke of the machine can be',
    thrust_above_rating: 'Thrust above the machine’s rating',
    thrust_per_disc_above_rating: 'Thrust per disc above the rating of a disc',
    thrust_too_low: 'Thrust below what boring needs',
    torque_above_rating: 'Torque above the machine’s rating',
    torque_too_low: 'Torque below what boring needs',
  },
});

@ObjectType({
  description:
    'A figure of a stroke beyond the machine’s rating, or two that contradict each other, from report.stroke_flag. A hint to look at the record, not a judgement.',
})
export class StrokeFlag {
  @IntField({ description: 'Number of the stroke' })
  number: number;

  @ChainageField({ description: 'Where the stroke begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @EnumField({ description: 'Kind of flag', values: StrokeFlagKind, name: 'StrokeFlagKind' })
  flag: StrokeFlagKind;

  @TextField({ description: 'The same in words, with its figures' })
  detail: string;

  @NumberField({
    description: 'The figure of the record; of readings the highest of its borings, in the unit',
  })
  measured: number;

  @NumberField({ description: 'The limit, in the unit' })
  limit: number;

  @TextField({ description: 'Unit of both', maxLength: 20 })
  unit: string;
}
