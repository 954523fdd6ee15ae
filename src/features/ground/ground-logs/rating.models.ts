import { InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { Matches } from 'class-validator';
import {
  BooleanField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  NumberField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';

export const QLocation = { normal: 'normal', portal: 'portal', intersection: 'intersection' } as const;
export type QLocation = (typeof QLocation)[keyof typeof QLocation];

registerEnum(QLocation, {
  name: 'QLocation',
  description: 'Where the place lies: at a portal 2·Jn counts in Q, at an intersection 3·Jn.',
  values: {
    normal: 'Neither at a portal nor at an intersection: Jn counts once',
    portal: 'At a portal: 2·Jn counts',
    intersection: 'At an intersection: 3·Jn counts',
  },
});

export const StrengthBy = { ucs: 'ucs', point_load: 'point_load' } as const;
export type StrengthBy = (typeof StrengthBy)[keyof typeof StrengthBy];

registerEnum(StrengthBy, {
  name: 'StrengthBy',
  description: 'By which measure of the log strength is rated in RMR.',
  values: { ucs: 'Uniaxial compressive strength [MPa]', point_load: 'Point load index Is50 [MPa]' },
});

export const GroundwaterBy = { inflow: 'inflow', pressure_ratio: 'pressure_ratio', state: 'state' } as const;
export type GroundwaterBy = (typeof GroundwaterBy)[keyof typeof GroundwaterBy];

registerEnum(GroundwaterBy, {
  name: 'GroundwaterBy',
  description: 'By which measure of the log groundwater is rated in RMR.',
  values: {
    inflow: 'Inflow along 10 m of drive [l/min]',
    pressure_ratio: 'Joint water pressure over the major principal stress',
    state: 'State as seen, from dry to flowing',
  },
});

@InputType('RatingAdjustmentInput', { description: 'An adjustment that the notes of a rating table allow.' })
@ObjectType({
  description:
    'An adjustment that the notes of a rating table allow, as the table names it in its edition. Nothing is adjusted unless a log names it.',
})
export class RatingAdjustment {
  @CodeField({ description: 'Name, such as zone_influences_only' })
  name: string;

  @NumberField({ description: 'Reduction, where the adjustment is one [%]', max: 100, optional: true })
  percent?: number;

  @NumberField({
    description: 'Value instead of that of the row, where the adjustment gives one',
    max: 1000,
    optional: true,
  })
  value?: number;

  @NumberField({
    description: 'Greatest over least principal stress as measured, σ1/σ3; for anisotropic_stress',
    max: 1000,
    optional: true,
  })
  stressRatio?: number;

  @NumberField({
    description:
      'Strength over greatest principal stress before it is reduced, σc/σ1; for anisotropic_stress',
    max: 100_000,
    optional: true,
  })
  strengthRatio?: number;

  @Matches(/\S/, { message: '$property is missing' })
  @TextField({ description: 'Why it applies here' })
  note: string;
}

@InputType('RatingChoiceInput', { description: 'A row of a rating table, and a value within it.' })
@ObjectType({ description: 'A row of a rating table, and a value within it.' })
export class RatingChoice {
  @CodeField({ description: 'Letter of the row' })
  row: string;

  @DecimalField({
    description: 'Value; may be left out where the row has one value, and required where it is a range',
    max: 1000,
    optional: true,
  })
  value?: string;

  @ObjectField(() => RatingAdjustment, {
    description: 'Adjustment of the value by a note of the table; absent: none',
    optional: true,
  })
  adjustment?: RatingAdjustment;
}

const End = (of: string): PropertyDecorator =>
  ObjectField(() => RatingChoice, { description: `${of}; as the typical one when absent`, optional: true });

@InputType('QRangeInput', {
  description: 'The least and the greatest of the inputs of Q, around the typical ones, as they count.',
})
@ObjectType({
  description: 'The least and the greatest of the inputs of Q, around the typical ones, as they count.',
})
export class QRange {
  @NumberField({ description: 'Least RQD [%]; as the typical one when absent', max: 100, optional: true })
  rqdMinPercent?: number;

  @NumberField({ description: 'Greatest RQD [%]', max: 100, optional: true })
  rqdMaxPercent?: number;

  @End('Least Jn')
  jnMin?: RatingChoice;

  @End('Greatest Jn')
  jnMax?: RatingChoice;

  @End('Least Jr')
  jrMin?: RatingChoice;

  @End('Greatest Jr')
  jrMax?: RatingChoice;

  @End('Least Ja')
  jaMin?: RatingChoice;

  @End('Greatest Ja')
  jaMax?: RatingChoice;

  @End('Least Jw')
  jwMin?: RatingChoice;

  @End('Greatest Jw')
  jwMax?: RatingChoice;

  @End('Least SRF')
  srfMin?: RatingChoice;

  @End('Greatest SRF')
  srfMax?: RatingChoice;
}

@ObjectType({ description: 'Inputs of Q as they counted.' })
export class QCounted {
  @NumberField({ description: 'RQD [%]' })
  rqdPercent: number;

  @NumberField({ description: 'Jn' })
  jn: number;

  @NumberField({ description: 'Jr' })
  jr: number;

  @NumberField({ description: 'Ja' })
  ja: number;

  @NumberField({ description: 'Jw' })
  jw: number;

  @NumberField({ description: 'SRF' })
  srf: number;
}

@ObjectType({ description: 'Q at an end of its range.' })
export class QEnd {
  @NumberField({ description: 'Q' })
  q: number;

  @TextField({ description: 'Its class' })
  qClass: string;

  @ObjectField(() => QCounted, { description: 'The inputs that meet there' })
  of: QCounted;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
class QFacts {
  @CodeField({ description: 'Edition of the rating tables, such as q-2013' })
  edition: string;

  @EnumField({ description: 'Where the place lies', values: QLocation, name: 'QLocation' })
  location: QLocation;

  @ObjectField(() => RatingChoice, { description: 'Joint set number' })
  jn: RatingChoice;

  @ObjectField(() => RatingChoice, { description: 'Joint roughness number' })
  jr: RatingChoice;

  @ObjectField(() => RatingChoice, { description: 'Joint alteration number' })
  ja: RatingChoice;

  @ObjectField(() => RatingChoice, { description: 'Joint water factor' })
  jw: RatingChoice;

  @ObjectField(() => RatingChoice, { description: 'Stress reduction factor' })
  srf: RatingChoice;

  @BooleanField({
    description:
      'The mean spacing of the relevant set is above 3 m: 1 is added to Jr. Never added unless stated',
    optional: true,
  })
  jrSpacingAbove3M?: boolean;

  @ObjectField(() => QRange, {
    description: 'Least and greatest of each input; absent: typical values only',
    optional: true,
  })
  range?: QRange;
}

@InputType({ description: 'Inputs of Q; RQD is that of the log.' })
export class QRatingInput extends QFacts {}

@ObjectType({ description: 'Q with all that it rests on.' })
export class QRating extends QFacts {
  @NumberField({ description: 'RQD as it counts: 10 where it was less [%]' })
  rqdPercent: number;

  @BooleanField({ description: 'RQD was below 10 and counts as 10' })
  rqdRaised: boolean;

  @NumberField({ description: 'Jn as it counts' })
  jnCounted: number;

  @NumberField({ description: 'Jr as it counts' })
  jrCounted: number;

  @NumberField({ description: 'Residual friction angle φr of the row of Ja, from [°]', optional: true })
  frictionMinDeg?: number;

  @NumberField({ description: 'The same, to [°]; absent where the row has none', optional: true })
  frictionMaxDeg?: number;

  @NumberField({ description: 'Jw as it counts, with its adjustment' })
  jwCounted: number;

  @NumberField({ description: 'SRF as it counts, with its adjustment' })
  srfCounted: number;

  @NumberField({ description: 'Q = (RQD / Jn) · (Jr / Ja) · (Jw / SRF)' })
  q: number;

  @TextField({ description: 'Class of Q; the lower bound is in the class' })
  qClass: string;

  @ObjectField(() => QEnd, {
    description: 'With the unfavourable ends of all inputs; absent without a range',
    optional: true,
  })
  lowest?: QEnd;

  @ObjectField(() => QEnd, {
    description: 'With the favourable ends of all inputs; absent without a range',
    optional: true,
  })
  highest?: QEnd;
}

@InputType('DetailedConditionInput', {
  description: 'Condition of the joints by the detailed tables of RMR.',
})
@ObjectType({ description: 'Condition of the joints by the detailed tables of RMR.' })
export class DetailedCondition {
  @NumberField({ description: 'Length of the joints [m]', max: 1000 })
  persistenceM: number;

  @NumberField({ description: 'Opening of the joints, 0 for none [mm]', max: 10_000 })
  apertureMm: number;

  @CodeField({ description: 'Row of the table roughness' })
  roughness: string;

  @CodeField({ description: 'Row of the table infilling' })
  infilling: string;

  @CodeField({ description: 'Row of the table weathering' })
  weathering: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
class RmrFacts {
  @CodeField({ description: 'Edition of the rating tables, such as rmr-1989' })
  edition: string;

  @EnumField({ description: 'By which measure strength is rated', values: StrengthBy, name: 'StrengthBy' })
  strengthBy: StrengthBy;

  @CodeField({
    description: 'Row of the short table of joint condition; this, or the detailed condition',
    optional: true,
  })
  condition?: string;

  @ObjectField(() => DetailedCondition, {
    description: 'Condition by the detailed tables; this, or a row of the short one',
    optional: true,
  })
  detailedCondition?: DetailedCondition;

  @EnumField({
    description: 'By which measure groundwater is rated',
    values: GroundwaterBy,
    name: 'GroundwaterBy',
  })
  groundwaterBy: GroundwaterBy;

  @CodeField({ description: 'Row of the table orientation' })
  orientation: string;
}

@InputType({ description: 'Inputs of RMR; strength, RQD, spacing and water are those of the log.' })
export class RmrRatingInput extends RmrFacts {}

@ObjectType({ description: 'RMR with its six ratings and all that it rests on.' })
export class RmrRating extends RmrFacts {
  @IntField({ description: 'R1, strength' })
  strengthRating: number;

  @IntField({ description: 'R2, RQD' })
  rqdRating: number;

  @IntField({ description: 'R3, spacing' })
  spacingRating: number;

  @IntField({ description: 'R4, condition' })
  conditionRating: number;

  @IntField({ description: 'R5, groundwater' })
  groundwaterRating: number;

  @IntField({ description: 'R6, orientation: 0 or less', min: -12 })
  orientationRating: number;

  @IntField({ description: 'RMR, their sum', min: -12 })
  rmr: number;

  @IntField({ description: 'RMR without orientation (R6 = 0), which correlations with Q use' })
  rmrWithoutOrientation: number;

  @TextField({
    description: 'Why the detailed condition should not have been used; absent where it is suitable',
    optional: true,
  })
  conditionFault?: string;

  @TextField({ description: 'Class I to V' })
  rmrClass: string;
}
