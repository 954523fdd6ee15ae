import { ArgsType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ChainageField, EnumField, IntField, NumberField } from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { DateRange } from '../../../common/api/ranges.js';

export const UtilisationPeriod = { drive: 'drive', week: 'week', month: 'month' } as const;
export type UtilisationPeriod = (typeof UtilisationPeriod)[keyof typeof UtilisationPeriod];

registerEnum(UtilisationPeriod, {
  name: 'UtilisationPeriod',
  description: 'drive: the whole record. week: ISO weeks of production days. month: their months.',
  values: {
    drive: 'The whole record',
    week: 'ISO weeks of production days',
    month: 'Months of production days',
  },
});

@ArgsType()
export class LedgerIntervalArgs extends DateRange {
  @NumberField({
    description: 'Length of the intervals; 100 when not given [m]',
    min: 1,
    max: 10_000,
    decimals: 3,
    optional: true,
  })
  lengthM?: number;

  @PlusKept()
  @ChainageField({
    description: 'One end of the part of the drive: intervals that reach into it are answered',
    optional: true,
  })
  fromChainage?: string;

  @PlusKept()
  @ChainageField({ description: 'The other end', optional: true })
  toChainage?: string;
}

export const ParetoPart = { non_boring: 'non_boring', lost: 'lost' } as const;
export type ParetoPart = (typeof ParetoPart)[keyof typeof ParetoPart];

registerEnum(ParetoPart, {
  name: 'ParetoPart',
  description:
    'non_boring: all time, excluding boring, regripping and outside working time. lost: of this what the programme does not plan.',
  values: {
    non_boring: 'All time, excluding boring, regripping and outside working time',
    lost: 'Of the non-boring time what the programme does not plan',
  },
});

@ArgsType()
export class ParetoArgs extends DateRange {
  @EnumField({
    description: 'Which time the codes are ranked by; non_boring when not given',
    values: ParetoPart,
    name: 'ParetoPart',
    optional: true,
  })
  of?: ParetoPart;
}

@ArgsType()
export class UtilisationArgs extends DateRange {
  @EnumField({
    description: 'What each row covers; the drive when not given',
    values: UtilisationPeriod,
    name: 'UtilisationPeriod',
    optional: true,
  })
  by?: UtilisationPeriod;
}

@ArgsType()
export class StopArgs extends DateRange {
  @IntField({ description: 'Maximum number; 10 when not given', min: 1, max: 1000, optional: true })
  first?: number;
}
