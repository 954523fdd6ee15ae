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
  TextField,
} from '../../../common/api/fields.js';
import { RESTS_ON, SupportReading } from './missing-support.models.js';

export enum GapDirection {
  along = 'along',
  around = 'around',
}

registerEnum(GapDirection, {
  name: 'GapDirection',
  description:
    'along: from one row to the next, along the drive. around: from one piece of a row to the next, around the arc.',
  values: {
    along: 'From one row to the next, along the drive',
    around: 'From one piece of a row to the next, around the arc',
  },
});

@ObjectType({
  description: 'Where pieces stand farther apart than the spacing that is demanded, from report.support_gap.',
})
export class SupportGap {
  @CodeField({ description: 'Code of the item' })
  item: string;

  @CodeField({ description: 'Zone' })
  zone: string;

  @ChainageField({
    description: 'The piece, or the beginning of the demand, from which it runs; to the millimetre',
  })
  from: string;

  @ChainageField({
    description: 'The next piece, the end of the demand, or the face; around: the last piece of the row',
  })
  to: string;

  @EnumField({ description: 'Along or around', values: GapDirection, name: 'GapDirection' })
  direction: GapDirection;

  @DecimalField({ description: 'Its length along the drive [m]', decimals: 6 })
  lengthM: string;

  @DecimalField({
    description:
      'Spacing found, along or around; around, of a row whose pieces have no place on the ring, the arc over their number [m]',
    decimals: 6,
  })
  foundM: string;

  @DecimalField({
    description: 'Largest spacing allowed, tolerance included; half of it at an end of a sector [m]',
    decimals: 4,
  })
  allowedM: string;

  @DecimalField({
    description: 'Around: where on the ring it begins, clockwise from the crown [deg]',
    decimals: 2,
    optional: true,
  })
  gapFromDeg?: string;

  @DecimalField({ description: 'Where it ends, clockwise [deg]', decimals: 2, optional: true })
  gapToDeg?: string;

  @DecimalField({ description: 'Spacing demanded, the largest of the stretches that it touches [m]' })
  spacingM: string;

  @DecimalField({ description: 'By how much a spacing may be larger [m]' })
  toleranceM: string;

  @IntField({
    description:
      'Pieces in a row across the drive; where a spacing around is demanded, as many as its arc needs',
  })
  piecesPerRow: number;

  @DecimalField({ description: 'Spacing demanded around the arc; absent: none is [m]', optional: true })
  aroundSpacingM?: string;

  @DecimalField({ description: 'By how much it may be larger [m]', optional: true })
  aroundToleranceM?: string;

  @DecimalField({
    description: 'Sector of the ring, from; absent: all of it [deg]',
    decimals: 2,
    optional: true,
  })
  fromDeg?: string;

  @DecimalField({ description: 'To, clockwise [deg]', decimals: 2, optional: true })
  toDeg?: string;

  @IntField({ description: 'Pieces that are missing in it' })
  missing: number;

  @IntField({
    description: 'Those of them that are due: whose last allowed place lies beyond the zone’s limit',
  })
  due: number;

  @BooleanField({ description: 'Whether it reaches the face' })
  isOpen: boolean;

  @IntField({
    description:
      'Pieces in it without a place on the ring: they do not count for a sector; for a spacing around they may be anywhere in the row',
  })
  piecesWithoutArc: number;

  @TextField({ description: RESTS_ON, optional: true })
  restsOn?: string;
}

@ObjectType({ description: 'The gaps in the spacing of support, along the drive.' })
export class SupportGapReport extends SupportReading {
  @ListField(() => SupportGap, { description: 'By place, zone and item', max: 1_000_000 })
  items: SupportGap[];
}
