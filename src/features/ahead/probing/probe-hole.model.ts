import { InputType, ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import { ShiftState } from '../../../generated/prisma/enums.js';

@InputType({ description: 'A probe hole, as it was drilled.' })
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

  @InstantField({
    description: 'When it was drilled; without it, or while it lies ahead, the hole gives no cover',
    optional: true,
  })
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

  @BooleanField({
    description:
      'Whether it gives cover: its position on the ring is noted, its look-out angle is within the drive’s limit, and it was drilled by the moment asked for',
  })
  givesCover: boolean;

  @DateField({
    description:
      'Date of the shift that holds the time it was drilled at; without such a shift it is not paid',
    optional: true,
  })
  shiftDate?: string;

  @TextField({ description: 'Name of that shift in the calendar', optional: true })
  shiftName?: string;

  @EnumField({
    description: 'State of that shift; the hole is paid once it is countersigned',
    values: ShiftState,
    name: 'ShiftState',
    optional: true,
  })
  shiftState?: ShiftState;
}

export const PROBE_CAUTION =
  'Decision support: cover counts the axial reach of straight holes and says nothing of what they found or of their quality. ' +
  'Holes without a position on the ring or a time of drilling, that look out beyond the limit or are still to be drilled, give no cover. ' +
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

  @IntField({ description: 'Number of those that give cover' })
  countedHoleCount: number;

  @IntField({ description: 'Number that give none because their position on the ring is not noted' })
  withoutPositionCount: number;

  @IntField({
    description:
      'Number that give none because their look-out angle is above the limit; a hole may fail in several ways and is counted for each',
  })
  beyondLookOutLimitCount: number;

  @IntField({ description: 'Number that give none because the time of drilling is not noted' })
  withoutTimeCount: number;

  @IntField({
    description: 'Number that give none because their time of drilling lies after the moment asked for',
  })
  notYetDrilledCount: number;

  @DecimalField({ description: 'Look-out angle above which a hole gives no cover [°]' })
  lookOutLimitDeg: string;

  @TextField({ description: 'What the figure does not say' })
  caution: string;
}
