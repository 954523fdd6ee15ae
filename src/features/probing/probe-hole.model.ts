import { InputType, ObjectType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DecimalField,
  InstantField,
  IntField,
  TextField,
} from '../../common/api/fields.js';

@InputType()
@ObjectType({ isAbstract: true })
export class ProbeHoleInput {
  @ChainageField({ description: 'Chainage of the collar' })
  collar: string;

  @ChainageField({ description: 'Chainage of the face when it was drilled', optional: true })
  face?: string;

  @DecimalField({
    description:
      'Place of the collar on the circumference, clockwise from the crown seen in the direction of the drive [°]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  positionDeg?: string;

  @DecimalField({ description: 'Look-out angle, between hole and axis [°]', max: 89.99, decimals: 2 })
  lookOutDeg: string;

  @DecimalField({ description: 'Drilled length [m]', min: 0.001, max: 999 })
  lengthM: string;

  @DecimalField({ description: 'Water inflow [l/min]', max: 999_999, decimals: 2, optional: true })
  waterInflowLPerMin?: string;

  @DecimalField({ description: 'Depth at which water was met [m]', max: 999, optional: true })
  waterDepthM?: string;

  @InstantField({ description: 'When it was drilled', optional: true })
  drilledAt?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@ObjectType({ description: 'A probe hole drilled ahead of the face.' })
export class ProbeHole extends ProbeHoleInput {
  @CodeField({ description: 'Name of the hole' })
  name: string;

  @DecimalField({ description: 'Reach along the axis: length × cos(look-out) [m]' })
  axialReachM: string;

  @DecimalField({
    description: 'Distance of its end from the line of the collar: length × sin(look-out) [m]',
  })
  radialSpreadM: string;

  @ChainageField({ description: 'Chainage to which it reaches' })
  reach: string;
}

export const PROBE_CAUTION =
  'Decision support: cover counts the axial reach of straight holes and says nothing of what they found or of their quality. ' +
  'The project’s designer, its hold points and the local code decide whether the face may go on.';

@ObjectType({ description: 'How far ahead of the face the ground is probed, from report.probe_cover.' })
export class ProbeCover {
  @ChainageField({ description: 'Chainage of the face' })
  faceChainage: string;

  @ChainageField({ description: 'End of the unbroken probed length that holds the face; the face when none' })
  probedToChainage: string;

  @DecimalField({ description: 'Probed length left ahead of the face; 0 when none [m]' })
  coverM: string;

  @IntField({ description: 'Number of probe holes of the drive' })
  holeCount: number;

  @TextField({ description: 'What the figure does not say' })
  caution: string;
}
