import { ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
} from '../../../common/api/fields.js';
import { GoverningBasis } from '../classes/ground-strip.models.js';

@ObjectType({
  description:
    'A ground class on the driven part: what the baseline expects and what was encountered, from report.baseline_against_encountered.',
})
export class EncounteredClass {
  @CodeField({ description: 'The ground class; absent: driven metres without a class', optional: true })
  groundClass?: string;

  @DecimalField({ description: 'Metres that the baseline expects on the driven part [m]' })
  baselineM: string;

  @DecimalField({
    description: 'The same of the driven length; sums to 100 exactly [%]',
    decimals: 4,
    optional: true,
  })
  baselinePercent?: string;

  @DecimalField({ description: 'Driven metres of this governing class [m]' })
  encounteredM: string;

  @DecimalField({
    description: 'The same of the driven length; sums to 100 exactly [%]',
    decimals: 4,
    optional: true,
  })
  encounteredPercent?: string;

  @DecimalField({ description: 'Encountered less baseline [m]' })
  differenceM: string;

  @DecimalField({ description: 'Metres where baseline and governing class are both this one [m]' })
  sameM: string;

  @DecimalField({ description: 'Of the encountered metres: by an agreed class decision [m]' })
  agreedM: string;

  @DecimalField({ description: 'Of which under a disputed class decision, which does not govern [m]' })
  disputedM: string;

  @DecimalField({ description: 'Of which under a proposed class decision [m]' })
  proposedM: string;

  @DecimalField({ description: 'As noted by the shifts, without an agreed decision [m]' })
  notedM: string;

  @DecimalField({ description: 'Of which noted only in draft shifts [m]' })
  draftM: string;

  @DecimalField({ description: 'Metres that the baseline expects on the whole drive [m]' })
  wholeBaselineM: string;
}

@ObjectType({ description: 'A cell of baseline class against governing class, from report.baseline_cross.' })
export class BaselineCross {
  @CodeField({ description: 'Class that the baseline expects' })
  baselineClass: string;

  @CodeField({ description: 'Class that counts; absent: none yet', optional: true })
  governingClass?: string;

  @DecimalField({ description: 'Driven metres [m]' })
  lengthM: string;
}

@ObjectType({ description: 'Baseline against encountered ground, on the driven part of the drive.' })
export class BaselineEncountered {
  @DecimalField({ description: 'Driven metres at the face: what each set of lengths sums to [m]' })
  drivenM: string;

  @ListField(() => EncounteredClass, { description: 'By ground class' })
  classes: EncounteredClass[];

  @ListField(() => BaselineCross, { description: 'By pair of baseline class and governing class' })
  cross: BaselineCross[];
}

@ObjectType({
  description:
    'A piece of the driven length with the class of the baseline and the governing class, from report.baseline_strip. The pieces cover the drive from its start to the face without gap or overlap.',
})
export class BaselineStripPiece {
  @IntField({ description: 'Its place: 1, 2, … along the drive' })
  number: number;

  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @CodeField({ description: 'Class that the baseline expects' })
  baselineClass: string;

  @CodeField({ description: 'Class that counts', optional: true })
  governingClass?: string;

  @EnumField({
    description: 'What it rests on',
    values: GoverningBasis,
    name: 'GoverningBasis',
    optional: true,
  })
  basis?: GoverningBasis;

  @BooleanField({ description: 'Whether it is noted only in a draft shift' })
  isDraft: boolean;

  @DecimalField({ description: 'Metres until its end where the governing class is the baseline’s [m]' })
  sameM: string;

  @DecimalField({ description: 'Metres until its end where they differ [m]' })
  otherM: string;

  @DecimalField({ description: 'Metres until its end without a class [m]' })
  unclassedM: string;
}

@ObjectType({ description: 'A page of baseline and governing class, along the drive.' })
export class BaselineStripPage {
  @ListField(() => BaselineStripPiece, { description: 'The pieces', max: 1000 })
  items: BaselineStripPiece[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}
