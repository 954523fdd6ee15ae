import { ArgsType, ObjectType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  IntField,
  ListField,
  NumberField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { SupportQuantity } from './support.models.js';

export const SUPPORT_MEASURE_CAUTION =
  'Decision support: figures follow from what the shifts reported and from the dimensions in the catalogue, on the bored section as cut. ' +
  'A mean thickness does not prove a minimum thickness, nor a number of bolts their effect. Whether the support suffices is for the project’s designer and the local code.';

@ArgsType()
export class IntervalPageArgs extends PageArgs {
  @NumberField({
    description: 'Length of the intervals; 10 when not given [m]',
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
  from?: string;

  @PlusKept()
  @ChainageField({ description: 'The other end', optional: true })
  to?: string;
}

@ObjectType({
  description:
    'What support measures by item and zone, from report.support_measure. A figure that its kind does not have, or that cannot be computed, is absent.',
})
export class SupportMeasure extends SupportQuantity {
  @IntField({
    description: 'Lines that lack an input of one of their figures: such a figure sums the other lines only',
  })
  incompleteCount: number;

  @TextListField({ description: 'The inputs that those lines lack' })
  missing: string[];

  @DecimalField({
    description: 'Bolts, spiles: number times length; invert segments: length along the drive [m]',
    optional: true,
  })
  totalLengthM?: string;

  @DecimalField({
    description:
      'Bolts: arc times length that they support; mesh: net, laps not counted; sprayed concrete: sprayed [m²]',
    optional: true,
  })
  areaM2?: string;

  @DecimalField({ description: 'Bolts over the area that they support [1/m²]', decimals: 4, optional: true })
  numberPerM2?: string;

  @DecimalField({ description: 'Mesh with its laps [m²]', optional: true })
  grossAreaM2?: string;

  @DecimalField({ description: 'Mesh with its laps, ribs, invert segments [kg]', optional: true })
  massKg?: string;

  @DecimalField({ description: 'Sprayed concrete: area times thickness [m³]', optional: true })
  theoreticalVolumeM3?: string;

  @DecimalField({
    description: 'Volume expected with the item’s allowance for overbreak and its rebound [m³]',
    optional: true,
  })
  expectedVolumeM3?: string;

  @DecimalField({ description: 'By the delivery tickets [m³]', optional: true })
  deliveredVolumeM3?: string;

  @DecimalField({ description: 'Delivered less the rebound that the item assumes [m³]', optional: true })
  placedVolumeM3?: string;

  @DecimalField({
    description: 'Theoretical volume of the lines that have a delivered one too [m³]',
    optional: true,
  })
  comparedTheoreticalVolumeM3?: string;

  @DecimalField({ description: 'Their delivered volume [m³]', optional: true })
  comparedDeliveredVolumeM3?: string;

  @DecimalField({
    description: 'Factor of overbreak and rebound: delivered over theoretical, of these lines',
    decimals: 4,
    optional: true,
  })
  volumeFactor?: string;

  @DecimalField({
    description: 'Placed volume over area, of the lines that have both [mm]',
    decimals: 1,
    optional: true,
  })
  meanThicknessMm?: string;
}

@ObjectType({ description: 'What support measures by production day, from report.support_measure_by_day.' })
export class SupportMeasureByDay extends SupportMeasure {
  @DateField({ description: 'Production day' })
  productionDay: string;
}

@ObjectType({
  description: 'What support measures by ground class, from report.support_measure_by_ground_class.',
})
export class SupportMeasureByGroundClass extends SupportMeasure {
  @CodeField({ description: 'Code of the class; absent where none is noted', optional: true })
  groundClass?: string;
}

const IntervalNumber = (): PropertyDecorator =>
  IntField({ description: 'Number of the interval, from 0 at the start of the drive' });

const IntervalFrom = (): PropertyDecorator =>
  ChainageField({ description: 'Where the interval begins, in the direction of the drive' });

const IntervalTo = (): PropertyDecorator => ChainageField({ description: 'Where it ends' });

@ObjectType({ description: 'What support measures by interval, from report.support_measure_in_intervals.' })
export class SupportMeasureByInterval extends SupportMeasure {
  @IntervalNumber()
  interval: number;

  @IntervalFrom()
  from: string;

  @IntervalTo()
  to: string;
}

@ObjectType({ description: 'What support measures in an interval with support.' })
export class MeasuredInterval {
  @IntervalNumber()
  interval: number;

  @IntervalFrom()
  from: string;

  @IntervalTo()
  to: string;

  @ListField(() => SupportMeasure, { description: 'By item and zone' })
  items: SupportMeasure[];
}

@ObjectType({ isAbstract: true })
export class Cautioned {
  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

@ObjectType({ description: 'What the support of a drive measures.' })
export class SupportMeasures extends Cautioned {
  @ListField(() => SupportMeasure, { description: 'By item and zone' })
  items: SupportMeasure[];
}

@ObjectType({ description: 'What the support of a drive measures, day by day.' })
export class SupportMeasuresByDay extends Cautioned {
  @ListField(() => SupportMeasureByDay, { description: 'By production day, item and zone' })
  items: SupportMeasureByDay[];
}

@ObjectType({ description: 'What the support of a drive measures, by ground class.' })
export class SupportMeasuresByGroundClass extends Cautioned {
  @ListField(() => SupportMeasureByGroundClass, { description: 'By ground class, item and zone' })
  items: SupportMeasureByGroundClass[];
}

@ObjectType({ description: 'What the support of a drive measures, a page of intervals at a time.' })
export class SupportMeasureIntervalPage extends Cautioned {
  @ListField(() => SupportMeasureByInterval, {
    description: 'By interval with support, item and zone; an interval is never split over pages',
    max: 1000,
  })
  items: SupportMeasureByInterval[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}
