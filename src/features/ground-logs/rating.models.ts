import { InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import {
  BooleanField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  NumberField,
  ObjectField,
  TextField,
} from '../../common/api/fields.js';

export const QLocation = { normal: 'normal', portal: 'portal', intersection: 'intersection' } as const;
export type QLocation = (typeof QLocation)[keyof typeof QLocation];

registerEnumType(QLocation, {
  name: 'QLocation',
  description: 'Where the place lies: at a portal 2·Jn counts in Q, at an intersection 3·Jn.',
});

export const StrengthBy = { ucs: 'ucs', point_load: 'point_load' } as const;
export type StrengthBy = (typeof StrengthBy)[keyof typeof StrengthBy];

registerEnumType(StrengthBy, {
  name: 'StrengthBy',
  description: 'By which measure of the log strength is rated in RMR.',
});

export const GroundwaterBy = { inflow: 'inflow', pressure_ratio: 'pressure_ratio', state: 'state' } as const;
export type GroundwaterBy = (typeof GroundwaterBy)[keyof typeof GroundwaterBy];

registerEnumType(GroundwaterBy, {
  name: 'GroundwaterBy',
  description: 'By which measure of the log groundwater is rated in RMR.',
});

@InputType('RatingChoiceInput')
@ObjectType({ description: 'A row of a rating table, and a value within it.' })
export class RatingChoice {
  @CodeField({ description: 'Letter of the row' })
  row: string;

  @DecimalField({
    description: 'Value; may be left out where the row has one value, and must be said where it is a range',
    max: 1000,
    optional: true,
  })
  value?: string;
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
      'The mean spacing of the relevant set is above 3 m: 1 is added to Jr. Never added unless it is said',
    optional: true,
  })
  jrSpacingAbove3M?: boolean;
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

  @NumberField({ description: 'Q = (RQD / Jn) · (Jr / Ja) · (Jw / SRF)' })
  q: number;

  @TextField({ description: 'Class of Q; the lower bound is in the class' })
  qClass: string;
}

@InputType('DetailedConditionInput')
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

  @TextField({ description: 'Class I to V' })
  rmrClass: string;
}
