import { ObjectType } from '@nestjs/graphql';
import { ChainageWindow } from '../../../common/api/chainage-window.js';
import {
  ChainageField,
  DecimalField,
  IntField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';

export const ORIENTATION_CAUTION =
  'Decision support: the figures count what was mapped, where it could be seen. Planes nearly parallel to the drive are met too seldom, ' +
  'and no weighting mends that here. What the discontinuities mean for support and safety is for the project’s designer and the local code.';

@ObjectType({
  description: 'The discontinuities of a set in a part of the drive, from report.discontinuity_sets_between.',
})
export class DiscontinuitySet {
  @TextField({ description: 'Label of the set; absent: those that were given none', optional: true })
  set?: string;

  @IntField({ description: 'How many' })
  count: number;

  @NumberField({ description: 'Dip of the mean plane; absent without a set or a mean [°]', optional: true })
  meanDipDeg?: number;

  @NumberField({ description: 'Dip direction of the mean plane [°]', optional: true })
  meanDipDirectionDeg?: number;

  @NumberField({ description: 'Largest eigenvalue S1 of the orientation tensor; the three sum to 1' })
  eigenvalue1: number;

  @NumberField({ description: 'Second eigenvalue S2' })
  eigenvalue2: number;

  @NumberField({ description: 'Least eigenvalue S3' })
  eigenvalue3: number;

  @NumberField({ description: 'Length of the sum of the poles, turned to the mean: R', optional: true })
  resultant?: number;

  @NumberField({
    description: 'Concentration (N − 1) / (N − R); absent where all are the same',
    optional: true,
  })
  concentration?: number;

  @NumberField({
    description: 'Shape ln(S1/S2) / ln(S2/S3): above 1 a cluster, below 1 a girdle',
    optional: true,
  })
  shape?: number;

  @NumberField({ description: 'Strength ln(S1/S3) of the preferred orientation', optional: true })
  strength?: number;

  @DecimalField({ description: 'Mean of the spacings given [m]', optional: true })
  meanSpacingM?: string;

  @IntField({ description: 'Of how many it is the mean' })
  spacingCount: number;

  @DecimalField({ description: 'Mean of the persistences given [m]', optional: true })
  meanPersistenceM?: string;

  @IntField({ description: 'Of how many it is the mean' })
  persistenceCount: number;

  @DecimalField({ description: 'Mean of the apertures given [mm]', optional: true })
  meanApertureMm?: string;

  @IntField({ description: 'Of how many it is the mean' })
  apertureCount: number;

  @IntField({ description: 'How many carry water: damp, wet, dripping or flowing' })
  seepingCount: number;
}

@ObjectType({ description: 'The sets of discontinuities in a part of the drive.' })
export class DiscontinuitySets {
  @ChainageField({ description: 'Where the part begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @ListField(() => DiscontinuitySet, { description: 'By label; those without one at the end' })
  sets: DiscontinuitySet[];

  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

export class StereonetQuery extends ChainageWindow {
  @NumberField({
    description: 'Azimuth of the axis of the drive, in its direction, to be drawn; none when not given [°]',
    max: 360,
    optional: true,
  })
  axisDeg?: number;
}
