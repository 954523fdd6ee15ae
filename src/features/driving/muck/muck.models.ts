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

export enum MuckBand {
  below = 'below',
  within = 'within',
  above = 'above',
}

registerEnum(MuckBand, {
  name: 'MuckBand',
  description:
    'Where the ratio of weigher to theory lies: above 1.20 look for over-excavation, below 0.80 at the weigher and the record.',
  values: {
    below: 'Ratio below 0.80: check the weigher and the record',
    within: 'Ratio from 0.80 to 1.20',
    above: 'Ratio above 1.20: check for over-excavation',
  },
});

export enum RockSource {
  ground_class = 'ground_class',
  drive = 'drive',
}

registerEnum(RockSource, {
  name: 'RockSource',
  description: 'Whose density or swell was used: that of the ground class, else that of the drive.',
  values: {
    ground_class: 'Value of the ground class',
    drive: 'Value of the drive, as its ground class has none',
  },
});

export enum Haulage {
  keeps_pace = 'keeps_pace',
  limits = 'limits',
}

registerEnum(Haulage, {
  name: 'Haulage',
  description: 'Whether the belt carries what the head brings at its net penetration rate.',
  values: {
    keeps_pace: 'The belt carries what the head brings',
    limits: 'The belt carries less than the head brings',
  },
});

export const MUCK_CAUTION =
  'Decision support: theory takes the bored section as cut and one density for a stroke; the weigher has its own error, and muck stays on the belt between strokes. ' +
  'A ratio outside of its band is a reason to look, not a finding. What loose or missing rock means for support and safety is for the project’s designer and the local code.';

@ObjectType({
  description: 'Muck of a stroke by theory and by the belt weigher, from report.stroke_muck.',
})
export class StrokeMuck {
  @IntField({ description: 'Number of the stroke' })
  number: number;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @CodeField({ description: 'Ground class noted at its middle', optional: true })
  groundClass?: string;

  @DecimalField({ description: 'Density of the rock in place [t/m³]', optional: true })
  densityTPerM3?: string;

  @EnumField({
    description: 'Where the density comes from',
    values: RockSource,
    name: 'RockSource',
    optional: true,
  })
  densityOf?: RockSource;

  @DecimalField({ description: 'Growth of the volume by breaking [%]', decimals: 2, optional: true })
  swellPercent?: string;

  @EnumField({
    description: 'Where the swell comes from',
    values: RockSource,
    name: 'RockSource',
    optional: true,
  })
  swellOf?: RockSource;

  @DecimalField({ description: 'Volume in place: bored area times length [m³]' })
  bankVolumeM3: string;

  @DecimalField({ description: 'Volume once broken [m³]', optional: true })
  looseVolumeM3?: string;

  @DecimalField({ description: 'Mass by theory [t]', optional: true })
  theoreticalMassT?: string;

  @DecimalField({ description: 'Mass by the belt weigher [t]', optional: true })
  muckMassT?: string;

  @DecimalField({ description: 'Metres whose muck was weighed [m]' })
  weighedM: string;

  @DecimalField({ description: 'Weigher less theory, of a stroke weighed whole [t]', optional: true })
  differenceT?: string;

  @DecimalField({
    description: 'Sum of the differences of this and all earlier strokes of the drive [t]',
    optional: true,
  })
  cumulativeDifferenceT?: string;

  @DecimalField({ description: 'Weigher over theory', decimals: 4, optional: true })
  ratio?: string;

  @EnumField({ description: 'Where the ratio lies', values: MuckBand, name: 'MuckBand', optional: true })
  band?: MuckBand;

  @NumberField({ description: 'Mass that comes at the net penetration rate [t/h]', optional: true })
  beltFlowTPerH?: number;

  @NumberField({ description: 'Loose volume that comes at the net penetration rate [m³/h]', optional: true })
  looseFlowM3PerH?: number;

  @NumberField({ description: 'Mass that comes over what the belt carries', optional: true })
  beltLoad?: number;

  @EnumField({
    description: 'Whether the belt keeps pace or limits the boring',
    values: Haulage,
    name: 'Haulage',
    optional: true,
  })
  haulage?: Haulage;

  @NumberField({ description: 'Net penetration rate at which the belt is full [m/h]', optional: true })
  fullBeltRateMPerH?: number;

  @TextField({ description: 'Which figures have no answer and why; absent when all have', optional: true })
  unanswered?: string;
}

@ObjectType({ isAbstract: true })
export class Cautioned {
  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

@ObjectType({ description: 'A page of strokes with their muck, by number.' })
export class StrokeMuckPage extends Cautioned {
  @ListField(() => StrokeMuck, { description: 'The strokes', max: 1000 })
  items: StrokeMuck[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}

@ObjectType({ description: 'Muck of a drive to date, from report.muck_progress.' })
export class MuckProgress {
  @DecimalField({ description: 'Sum of all borings [m]' })
  boredM: string;

  @DecimalField({ description: 'Volume in place of all strokes [m³]' })
  bankVolumeM3: string;

  @DecimalField({ description: 'Volume once broken, of the strokes whose swell is known [m³]' })
  looseVolumeM3: string;

  @DecimalField({ description: 'Metres that the loose volume covers [m]' })
  looseM: string;

  @DecimalField({ description: 'Total by the belt weigher [t]' })
  weighedMassT: string;

  @DecimalField({
    description:
      'Metres of the strokes weighed whole whose density is known: theory and weigher are compared over these [m]',
  })
  comparedM: string;

  @DecimalField({ description: 'Their mass by the weigher [t]' })
  comparedMassT: string;

  @DecimalField({ description: 'Their mass by theory [t]' })
  theoreticalMassT: string;

  @DecimalField({ description: 'Weigher less theory [t]' })
  differenceT: string;

  @DecimalField({ description: 'Weigher over theory', decimals: 4, optional: true })
  ratio?: string;

  @IntField({ description: 'Strokes whose ratio lies above its band' })
  aboveCount: number;

  @IntField({ description: 'Strokes whose ratio lies below its band' })
  belowCount: number;

  @DecimalField({ description: 'What the belt carries [t/h]', optional: true })
  beltCapacityTPerH?: string;

  @NumberField({
    description: 'Highest mass flow of a stroke at its net penetration rate [t/h]',
    optional: true,
  })
  highestBeltFlowTPerH?: number;

  @NumberField({ description: 'The same over the belt’s capacity', optional: true })
  highestBeltLoad?: number;

  @IntField({ description: 'Strokes that bring more than the belt carries' })
  limitedCount: number;

  @TextField({ description: 'What the figures do not say' })
  caution: string;
}
