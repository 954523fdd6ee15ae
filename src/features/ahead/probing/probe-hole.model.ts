import { InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { ProbeHoleState, ProbeMethod, ShiftState } from '../../../generated/prisma/enums.js';
import { ProbeLogInterval } from './probe-log.model.js';

registerEnum(ProbeMethod, {
  name: 'ProbeMethod',
  description: 'percussive: cuttings are flushed out. cored: a core is recovered.',
  values: { percussive: 'Cuttings are flushed out', cored: 'A core is recovered' },
});

registerEnum(ProbeHoleState, {
  name: 'ProbeHoleState',
  description:
    'drilled: to its end. abandoned, flooded: given up before its end; it counts to the depth reached. grouted: filled after drilling. control_hole: drilled to check grouting.',
  values: {
    drilled: 'Drilled to its end',
    abandoned: 'Given up before its end',
    flooded: 'Given up because of water',
    grouted: 'Filled with grout after drilling',
    control_hole: 'Drilled to check grouting',
  },
});

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

  @DecimalField({
    description: 'Drilled length, which is the depth reached [m]',
    min: 0.001,
    max: 999,
  })
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

  @DecimalField({
    description:
      'Direction in the plane of the section in which the hole looks out, clockwise from the crown seen in the direction of the drive; radial, as its position, when absent [°]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  lookOutAzimuthDeg?: string;

  @DecimalField({
    description: 'Length that was planned, where it differs from the drilled length [m]',
    min: 0.001,
    max: 999,
    optional: true,
  })
  plannedLengthM?: string;

  @DecimalField({
    description: 'Diameter of the hole [mm]',
    min: 0.01,
    max: 999,
    decimals: 2,
    optional: true,
  })
  diameterMm?: string;

  @EnumField({
    description: 'How it was drilled',
    values: ProbeMethod,
    name: 'ProbeMethod',
    optional: true,
  })
  method?: ProbeMethod;

  @EnumField({
    description: 'State of the hole; drilled when absent',
    values: ProbeHoleState,
    name: 'ProbeHoleState',
    optional: true,
  })
  state?: ProbeHoleState;

  @ListField(() => ProbeLogInterval, {
    description: 'What was met along the hole, by depth; intervals do not overlap',
    max: 500,
    empty: true,
  })
  log: ProbeLogInterval[] = [];
}

@ObjectType({ description: 'A probe hole drilled ahead of the face.' })
export class ProbeHole extends ProbeHoleInput {
  @CodeField({ description: 'Name of the hole' })
  name: string;

  @EnumField({ description: 'State of the hole', values: ProbeHoleState, name: 'ProbeHoleState' })
  declare state: ProbeHoleState;

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
