import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { GroundLog } from './ground-log.models.js';

export const RockMassRating = { q: 'q', rmr: 'rmr' } as const;
export type RockMassRating = (typeof RockMassRating)[keyof typeof RockMassRating];

registerEnum(RockMassRating, {
  name: 'RockMassRating',
  description: 'By which rating metres are counted.',
  values: { q: 'By Q', rmr: 'By RMR' },
});

export const RockMassCoverage = {
  rated: 'rated',
  not_rated: 'not_rated',
  not_logged: 'not_logged',
} as const;
export type RockMassCoverage = (typeof RockMassCoverage)[keyof typeof RockMassCoverage];

registerEnum(RockMassCoverage, {
  name: 'RockMassCoverage',
  description: 'rated; not_rated: logged without this rating; not_logged: no log covers it.',
  values: {
    rated: 'A log rates the place',
    not_rated: 'Logged, but without this rating',
    not_logged: 'No log covers the place',
  },
});

export const RockMassBasis = {
  decided: 'decided',
  only: 'only',
  agreeing: 'agreeing',
  undecided: 'undecided',
  not_rated: 'not_rated',
} as const;
export type RockMassBasis = (typeof RockMassBasis)[keyof typeof RockMassBasis];

registerEnum(RockMassBasis, {
  name: 'RockMassBasis',
  description:
    'decided: the log agreed as governing. only: no other log rates the place. agreeing: all that do are of one class. undecided: they differ in class and none was agreed. not_rated: no log of the place has this rating.',
  values: {
    decided: 'The log agreed as governing',
    only: 'No other log rates the place',
    agreeing: 'All logs that rate the place are of one class',
    undecided: 'The logs differ in class, and none was agreed',
    not_rated: 'No log of the place has this rating',
  },
});

export const RULE_OF_LOGS =
  'The log agreed as governing counts; without one, of the logs that rate the place, the one of the lowest rating, and among equals the first by name.';

@ArgsType()
export class RockMassPlaceArgs {
  @PlusKept()
  @ChainageField({ description: 'The place' })
  chainage: string;
}

@ObjectType({ description: 'The log that counts at a place by one rating.' })
export class RockMassUsed {
  @EnumField({ description: 'By which rating', values: RockMassRating, name: 'RockMassRating' })
  rating: RockMassRating;

  @CodeField({
    description: 'Name of the log that counts; absent where none rates the place',
    optional: true,
  })
  log?: string;

  @NumberField({ description: 'Its Q or RMR', min: -12, optional: true })
  value?: number;

  @TextField({ description: 'Its class', optional: true })
  class?: string;

  @EnumField({ description: 'Why it counts', values: RockMassBasis, name: 'RockMassBasis' })
  basis: RockMassBasis;
}

@ObjectType({ description: 'What the ground logs say of a place, and which of them counts.' })
export class RockMassAt {
  @ChainageField({ description: 'The place' })
  chainage: string;

  @ListField(() => RockMassUsed, { description: 'By Q and by RMR; none where no log covers the place' })
  used: RockMassUsed[];

  @BooleanField({ description: 'Logs differ in class by either rating, and none was agreed as governing' })
  isUndecided: boolean;

  @TextField({ description: 'The rule by which a log counts' })
  rule: string;

  @ListField(() => GroundLog, { description: 'All logs of the place, by name' })
  logs: GroundLog[];
}

@ArgsType()
export class RockMassIntervalArgs {
  @NumberField({
    description: 'Length of the intervals; 100 when not given [m]',
    min: 1,
    max: 10_000,
    decimals: 3,
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

  @DecimalField({ description: 'Metres over all, rounded', max: 1, decimals: 6, rounded: true })
  share: string;

  @IntField({ description: 'Logs that count here' })
  logCount: number;

  @NumberField({ description: 'Lowest Q or RMR of them', min: -12, optional: true })
  lowest?: number;

  @NumberField({ description: 'Highest of them', min: -12, optional: true })
  highest?: number;

  @DecimalField({ description: 'Metres of lengthM whose log was agreed as the governing one [m]' })
  decidedM: string;

  @DecimalField({
    description:
      'Metres of lengthM where logs differ in class and none was agreed: the lowest rating counts [m]',
  })
  undecidedM: string;
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
