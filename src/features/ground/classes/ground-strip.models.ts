import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { ContestedClass } from './contested-class.model.js';

export const GoverningBasis = { agreed: 'agreed', noted: 'noted' } as const;
export type GoverningBasis = (typeof GoverningBasis)[keyof typeof GoverningBasis];

registerEnum(GoverningBasis, {
  name: 'GoverningBasis',
  description:
    'What a governing class rests on: an agreed class decision, else the class noted by the shift. A decision that is not agreed does not govern.',
  values: { agreed: 'An agreed class decision', noted: 'The class noted by the shift' },
});

export const ClassGapKind = { undecided: 'undecided', proposed: 'proposed', disputed: 'disputed' } as const;
export type ClassGapKind = (typeof ClassGapKind)[keyof typeof ClassGapKind];

registerEnum(ClassGapKind, {
  name: 'ClassGapKind',
  description: 'undecided: no class decision. proposed, disputed: one that is not agreed.',
  values: {
    undecided: 'No class decision',
    proposed: 'A class decision that is proposed',
    disputed: 'A class decision that is disputed',
  },
});

@ObjectType({ isAbstract: true })
class StripPiece {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;
}

@ObjectType({
  description: 'Driven metres without an agreed class decision, from report.class_decision_gap.',
})
export class ClassDecisionGap extends StripPiece {
  @EnumField({ description: 'What is missing', values: ClassGapKind, name: 'ClassGapKind' })
  kind: ClassGapKind;

  @IntField({ description: 'Number of the decision that is not agreed', optional: true })
  decision?: number;

  @CodeField({ description: 'Its ground class', optional: true })
  groundClass?: string;
}

@ObjectType({ isAbstract: true })
class GoverningPiece extends StripPiece {
  @EnumField({
    description: 'What it rests on',
    values: GoverningBasis,
    name: 'GoverningBasis',
    optional: true,
  })
  basis?: GoverningBasis;

  @BooleanField({
    description: 'Whether the shift that noted it is countersigned: until then what is paid by class is held',
    optional: true,
  })
  countersigned?: boolean;

  @ObjectField(() => ContestedClass, {
    description: 'The class decision there that is not agreed',
    optional: true,
  })
  contested?: ContestedClass;
}

@ObjectType({ description: 'An interval of one governing class, from report.governing_class.' })
export class GoverningClass extends GoverningPiece {
  @IntField({ description: 'Its place in the list: 1, 2, … along the drive' })
  number: number;

  @CodeField({
    description: 'The class that counts; absent where there is only a decision that is not agreed',
    optional: true,
  })
  groundClass?: string;
}

@ObjectType({ description: 'A page of governing classes, along the drive.' })
export class GoverningClassPage {
  @ListField(() => GoverningClass, { description: 'The intervals', max: 1000 })
  items: GoverningClass[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}

@ObjectType({
  description:
    'A piece of the driven length with its lithology and class, from report.ground_strip. The pieces cover the drive from its start to the face without gap or overlap.',
})
export class GroundStripPiece extends GoverningPiece {
  @IntField({ description: 'Its place: 1, 2, … along the drive' })
  number: number;

  @TextField({ description: 'The kind of rock, as noted', optional: true })
  lithology?: string;

  @CodeField({ description: 'The class noted by the shift', optional: true })
  notedClass?: string;

  @CodeField({ description: 'The class that counts', optional: true })
  governingClass?: string;
}

@ObjectType({ description: 'A page of the strip of ground, along the drive.' })
export class GroundStripPage {
  @ListField(() => GroundStripPiece, { description: 'The pieces', max: 1000 })
  items: GroundStripPiece[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}
