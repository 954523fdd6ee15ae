import { ArgsType, ObjectType, registerEnumType } from '@nestjs/graphql';
import {
  ChainageField,
  DecimalField,
  EnumField,
  IntField,
  NumberField,
  TextField,
} from '../../common/api/fields.js';
import { NumberRead } from '../../common/api/number-read.js';

export const RockMassRating = { q: 'q', rmr: 'rmr' } as const;
export type RockMassRating = (typeof RockMassRating)[keyof typeof RockMassRating];

registerEnumType(RockMassRating, {
  name: 'RockMassRating',
  description: 'By which rating metres are counted.',
});

export const RockMassCoverage = {
  rated: 'rated',
  not_rated: 'not_rated',
  not_logged: 'not_logged',
} as const;
export type RockMassCoverage = (typeof RockMassCoverage)[keyof typeof RockMassCoverage];

registerEnumType(RockMassCoverage, {
  name: 'RockMassCoverage',
  description: 'rated; not_rated: logged without this rating; not_logged: no log covers it.',
});

@ArgsType()
export class RockMassIntervalArgs {
  @NumberRead()
  @NumberField({
    description: 'Length of the intervals; 100 when not given [m]',
    min: 1,
    max: 10_000,
    optional: true,
  })
  lengthM?: number;
}

@ObjectType({
  description:
    'Metres behind the face by class, from report.rock_mass_by_drive. For either rating they sum to the driven length.',
})
export class RockMassShare {
  @EnumField({ description: 'By which rating', values: RockMassRating, name: 'RockMassRating' })
  rating: RockMassRating;

  @TextField({ description: 'Class; absent where there is none', optional: true })
  class?: string;

  @EnumField({
    description: 'Whether a log covers them, and rates them',
    values: RockMassCoverage,
    name: 'RockMassCoverage',
  })
  coverage: RockMassCoverage;

  @DecimalField({ description: 'Metres [m]' })
  lengthM: string;

  @DecimalField({ description: 'Metres over all, rounded', max: 1, decimals: 6 })
  share: string;

  @IntField({ description: 'Logs that count here' })
  logCount: number;

  @NumberField({ description: 'Lowest Q or RMR of them', min: -12, optional: true })
  lowest?: number;

  @NumberField({ description: 'Highest of them', min: -12, optional: true })
  highest?: number;
}

@ObjectType({
  description:
    'The same in an interval, from report.rock_mass_in_intervals. Intervals lie on round chainages; the last one ends at the face.',
})
export class RockMassOfInterval extends RockMassShare {
  @ChainageField({ description: 'Where the interval begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;
}
