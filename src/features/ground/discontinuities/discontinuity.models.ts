import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ArrayMinSize, Matches, NotEquals } from 'class-validator';
import { NextField } from '../../../common/api/cursor.js';
import {
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import {
  DiscontinuityInfilling,
  DiscontinuityRoughness,
  DiscontinuitySeepage,
  DiscontinuityType,
  DiscontinuityWeathering,
} from '../../../generated/prisma/enums.js';

registerEnum(DiscontinuityType, {
  name: 'DiscontinuityType',
  description: 'Kind of discontinuity.',
  values: {
    bedding: 'Bedding plane',
    contact: 'Contact between rocks',
    fault: 'Fault',
    foliation: 'Foliation',
    joint: 'Joint',
    shear_zone: 'Shear zone',
    vein: 'Vein',
  },
});
registerEnum(DiscontinuityRoughness, {
  name: 'DiscontinuityRoughness',
  description: 'Roughness of its surfaces, from very rough to slickensided.',
  values: {
    very_rough: 'Very rough',
    rough: 'Rough',
    slightly_rough: 'Slightly rough',
    smooth: 'Smooth',
    slickensided: 'Slickensided',
  },
});
registerEnum(DiscontinuityInfilling, {
  name: 'DiscontinuityInfilling',
  description: 'What lies between its surfaces: none, hard or soft. Its thickness is the aperture.',
  values: { none: 'None', hard: 'Hard', soft: 'Soft' },
});
registerEnum(DiscontinuityWeathering, {
  name: 'DiscontinuityWeathering',
  description: 'Weathering of its walls, from fresh to decomposed.',
  values: {
    fresh: 'Unweathered',
    slight: 'Slightly weathered',
    moderate: 'Moderately weathered',
    high: 'Highly weathered',
    decomposed: 'Decomposed',
  },
});
registerEnum(DiscontinuitySeepage, {
  name: 'DiscontinuitySeepage',
  description: 'Water that it brings, from dry to flowing.',
  values: {
    dry: 'No water',
    damp: 'Damp',
    wet: 'Wet, no drops',
    dripping: 'Drops',
    flowing: 'Running water',
  },
});

const NAME = 'Number or name of the discontinuity in its drive';

/** Not allowed as names, because they are addresses below that of the discontinuities. */
const RESERVED = 'sets';
const NotReserved = (): PropertyDecorator =>
  NotEquals(RESERVED, { message: `$property must not be “${RESERVED}”, which is a separate address` });

@ArgsType()
export class DiscontinuityPath extends DrivePath {
  @NotReserved()
  @CodeField({ description: NAME })
  name: string;
}

@InputType({ description: 'A discontinuity as it was mapped.' })
@ObjectType({ isAbstract: true })
export class DiscontinuityInput {
  @ChainageField({ description: 'Chainage at which it was measured' })
  chainage: string;

  @EnumField({ description: 'Kind', values: DiscontinuityType, name: 'DiscontinuityType' })
  type: DiscontinuityType;

  @DecimalField({ description: 'Dip, from the horizontal [°]', max: 90, decimals: 2 })
  dipDeg: string;

  @DecimalField({
    description: 'Dip direction: azimuth of the line of steepest fall, clockwise from north, below 360 [°]',
    max: 359.99,
    decimals: 2,
  })
  dipDirectionDeg: string;

  @Matches(/^\S(.*\S)?$/, { message: '$property must be one line of text without blanks at its ends' })
  @TextField({
    description: 'Label of the set that it belongs to, such as J1',
    maxLength: 40,
    optional: true,
  })
  set?: string;

  @DecimalField({
    description: 'Distance to the next of its set, across them [m]',
    min: 0.001,
    max: 999,
    optional: true,
  })
  spacingM?: string;

  @DecimalField({ description: 'Persistence: length of its trace [m]', max: 9999, optional: true })
  persistenceM?: string;

  @DecimalField({ description: 'Aperture [mm]', max: 99_999, decimals: 2, optional: true })
  apertureMm?: string;

  @EnumField({
    description: 'Roughness',
    values: DiscontinuityRoughness,
    name: 'DiscontinuityRoughness',
    optional: true,
  })
  roughness?: DiscontinuityRoughness;

  @EnumField({
    description: 'Infilling',
    values: DiscontinuityInfilling,
    name: 'DiscontinuityInfilling',
    optional: true,
  })
  infilling?: DiscontinuityInfilling;

  @TextField({
    description: 'What the infilling is, such as calcite or clay',
    maxLength: 100,
    optional: true,
  })
  infillingMaterial?: string;

  @EnumField({
    description: 'Weathering of its walls',
    values: DiscontinuityWeathering,
    name: 'DiscontinuityWeathering',
    optional: true,
  })
  weathering?: DiscontinuityWeathering;

  @EnumField({
    description: 'Seepage',
    values: DiscontinuitySeepage,
    name: 'DiscontinuitySeepage',
    optional: true,
  })
  seepage?: DiscontinuitySeepage;

  @DecimalField({
    description: 'Place on the wall, clockwise from the crown seen in the direction of the drive [°]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  positionDeg?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;

  @TextField({ description: 'Who mapped it', maxLength: 100, optional: true })
  mappedBy?: string;

  @InstantField({ description: 'When it was mapped', optional: true })
  mappedAt?: string;
}

@ObjectType({ description: 'A plane of weakness in the rock, as mapped at a chainage.' })
export class Discontinuity extends DiscontinuityInput {
  @CodeField({ description: NAME })
  name: string;
}

@ObjectType({ description: 'A page of discontinuities, along the drive.' })
export class DiscontinuityPage {
  @ListField(() => Discontinuity, { description: 'The discontinuities, by chainage and name' })
  items: Discontinuity[];

  @NextField()
  next?: string;
}

@InputType({ description: 'A discontinuity with its name in the drive.' })
export class NamedDiscontinuityInput extends DiscontinuityInput {
  @NotReserved()
  @CodeField({ description: NAME })
  name: string;
}

@InputType({ description: 'Discontinuities that are accepted or refused together.' })
export class DiscontinuitySheetInput {
  @ArrayMinSize(1, { message: 'a sheet must have at least one discontinuity' })
  @ListField(() => NamedDiscontinuityInput, {
    description: 'The discontinuities of the sheet, at most 1000',
  })
  discontinuities: NamedDiscontinuityInput[];
}

@ObjectType({ description: 'What became of a sheet of discontinuities.' })
export class DiscontinuitySheetReceipt {
  @IntField({ description: 'How many are new' })
  created: number;

  @IntField({ description: 'How many replaced one of the same name' })
  replaced: number;

  @IntField({ description: 'How many were unchanged' })
  unchanged: number;
}
