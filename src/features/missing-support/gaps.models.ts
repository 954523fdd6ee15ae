import { ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  IntField,
  ListField,
  TextField,
} from '../../common/api/fields.js';
import { RESTS_ON, SupportReading } from './missing-support.models.js';

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

  @ChainageField({ description: 'The next piece, the end of the demand, or the face' })
  to: string;

  @DecimalField({ description: 'Spacing found: its length [m]', decimals: 6 })
  lengthM: string;

  @DecimalField({ description: 'Spacing demanded, the largest of the stretches that it touches [m]' })
  spacingM: string;

  @DecimalField({ description: 'By how much a spacing may be larger [m]' })
  toleranceM: string;

  @IntField({ description: 'Pieces in a row across the drive' })
  piecesPerRow: number;

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

  @IntField({ description: 'Pieces in it without a place on the ring, which do not count for the sector' })
  piecesWithoutArc: number;

  @TextField({ description: RESTS_ON, optional: true })
  restsOn?: string;
}

@ObjectType({ description: 'The gaps in the spacing of support, along the drive.' })
export class SupportGapReport extends SupportReading {
  @ListField(() => SupportGap, { description: 'By place, zone and item', max: 1_000_000 })
  items: SupportGap[];
}
