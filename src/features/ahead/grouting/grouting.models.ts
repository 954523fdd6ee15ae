import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { NextField } from '../../../common/api/cursor.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';
import { GroutingPurpose, GroutingState, GroutingStop, ShiftState } from '../../../generated/prisma/enums.js';

registerEnum(GroutingPurpose, {
  name: 'GroutingPurpose',
  description: 'Whether the ground is grouted ahead of the face or behind it.',
  values: { pre_grouting: 'Ahead of the face', post_grouting: 'Behind the face' },
});

registerEnum(GroutingState, {
  name: 'GroutingState',
  description: 'State of a grouting round.',
  values: {
    under_way: 'Not yet ended',
    complete: 'Ended as planned',
    abandoned: 'Given up',
  },
});

registerEnum(GroutingStop, {
  name: 'GroutingStop',
  description: 'Why grouting of a hole ended.',
  values: {
    pressure: 'Target pressure reached',
    volume: 'Maximum volume or mass reached',
    flow: 'Flow below the minimum at the target pressure',
    leakage: 'Grout leaked into the drive or to the surface',
    connection: 'Grout came out of another hole',
    other: 'Another reason, stated in the remark',
  },
});

export const GroutingFigure = {
  hole_m_per_m2: 'hole_m_per_m2',
  pressure_end_bar: 'pressure_end_bar',
  take_kg_per_m2: 'take_kg_per_m2',
  water_cement_ratio: 'water_cement_ratio',
} as const;
export type GroutingFigure = keyof typeof GroutingFigure;

registerEnum(GroutingFigure, {
  name: 'GroutingFigure',
  description: 'A figure of pre-grouting for which a range is published.',
  values: {
    hole_m_per_m2: 'Metres of hole per square metre of surface treated',
    pressure_end_bar: 'Highest pressure at the end of a hole',
    take_kg_per_m2: 'Dry mass per square metre of surface treated',
    water_cement_ratio: 'Water/cement ratio of all mixes together',
  },
});

/** Caution on the figures of grouting. */
export const GROUTING_CAUTION =
  'Decision support only. The takes are averages over the round, and a published range describes other drives. Inflow of control holes says what these holes met. Whether the ground is tight enough to go on is for the responsible person, the project’s designer and the local practice to decide.';

const NAME = 'Name of the round in its drive';

@ArgsType()
export class GroutingRoundPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@InputType('GroutMixInput', { description: 'A mix that a hole took.' })
@ObjectType('GroutMix', { description: 'A mix that a hole took.' })
export class GroutMix {
  @Names('name the material')
  @TextField({ description: 'Cement or other material, as delivered', maxLength: 100 })
  material: string;

  @DecimalField({
    description: 'Water/cement ratio by mass; absent: the mix has no cement [-]',
    min: 0.001,
    max: 99,
    optional: true,
  })
  waterCementRatio?: string;

  @DecimalField({ description: 'Dry mass [kg]', max: 999_999 })
  massKg: string;

  @DecimalField({ description: 'Volume of grout [l]', max: 999_999, optional: true })
  volumeL?: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
abstract class GroutingHoleAsMade {
  @CodeField({ description: 'Name of the hole, once in its round' })
  name: string;

  @ChainageField({ description: 'Chainage of the collar' })
  collar: string;

  @DecimalField({
    description:
      'Place of the collar on the circumference, clockwise from the crown seen in the direction of the drive [°]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  positionDeg?: string;

  @DecimalField({ description: 'Angle between hole and axis [°]', max: 89.99, decimals: 2 })
  lookOutDeg: string;

  @DecimalField({
    description:
      'Direction in the plane of the section in which the hole looks out, clockwise from the crown seen in the direction of the drive; radial, as its position, when absent [°]',
    max: 360,
    decimals: 2,
    optional: true,
  })
  lookOutAzimuthDeg?: string;

  @DecimalField({ description: 'Drilled length [m]', min: 0.001, max: 999 })
  lengthM: string;

  @DecimalField({
    description: 'Diameter of the hole [mm]',
    min: 0.01,
    max: 999,
    decimals: 2,
    optional: true,
  })
  diameterMm?: string;

  @InstantField({ description: 'When grouting of the hole began', optional: true })
  startedAt?: string;

  @InstantField({
    description: 'When it ended; absent: with the round. The hole is paid in the shift in which it ended',
    optional: true,
  })
  endedAt?: string;

  @DecimalField({ description: 'Pressure at the end [bar]', max: 9999, optional: true })
  pressureEndBar?: string;

  @EnumField({
    description: 'Why grouting ended',
    values: GroutingStop,
    name: 'GroutingStop',
    optional: true,
  })
  stopCriterion?: GroutingStop;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'A hole of a grouting round, as it was drilled and grouted.' })
export class GroutingHoleInput extends GroutingHoleAsMade {
  @ListField(() => GroutMix, {
    description: 'What it took, in the order of grouting; none: it took nothing',
    max: 50,
    empty: true,
  })
  mixes: GroutMix[] = [];
}

@ObjectType({ description: 'A hole of a grouting round, from report.grouting_hole.' })
export class GroutingHole extends GroutingHoleAsMade {
  @ListField(() => GroutMix, { description: 'What it took, in the order of grouting' })
  mixes: GroutMix[];

  @DecimalField({ description: 'Reach along the axis: length × cos(look-out) [m]' })
  axialReachM: string;

  @DecimalField({
    description: 'Distance of its end from the line of the collar: length × sin(look-out) [m]',
  })
  radialSpreadM: string;

  @ChainageField({ description: 'Chainage to which it reaches' })
  reach: string;

  @DecimalField({
    description: 'From the start of grouting to its end [h]',
    decimals: 4,
    optional: true,
  })
  groutingHours?: string;

  @DecimalField({ description: 'Dry mass of all mixes [kg]' })
  massKg: string;

  @DecimalField({
    description: 'Volume of grout of all mixes; absent: of one it is not noted [l]',
    optional: true,
  })
  volumeL?: string;

  @DecimalField({
    description: 'Water/cement ratio of the mixes with cement together, by mass [-]',
    optional: true,
  })
  waterCementRatio?: string;

  @DecimalField({ description: 'Dry mass per metre of hole [kg/m]' })
  takeKgPerM: string;

  @DecimalField({ description: 'Volume of grout per metre of hole [l/m]', optional: true })
  takeLPerM?: string;

  @DateField({
    description: 'Date of the shift in which its work ended; without such a shift it is not paid',
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

@ObjectType({ description: 'A control hole of a grouting round, from report.grouting_control_hole.' })
export class GroutingControlHole {
  @CodeField({ description: 'Name of the probe hole' })
  hole: string;

  @BooleanField({ description: 'Whether the record still has a probe hole of that name' })
  isRecorded: boolean;

  @DecimalField({
    description: 'Latest inflow of the hole, measured after the round had ended; absent: none was [l/min]',
    optional: true,
  })
  inflowLPerMin?: string;

  @InstantField({ description: 'When it was measured', optional: true })
  measuredAt?: string;

  @DecimalField({ description: 'Trigger of inflow from one hole in force [l/min]', optional: true })
  triggerLPerMin?: string;

  @BooleanField({
    description: 'Whether the inflow is at most the trigger; absent: one of them is not known',
    optional: true,
  })
  isMet?: boolean;
}

@ObjectType({ description: 'A figure of a round outside of the range published for it.' })
export class GroutingBeyondPublished {
  @EnumField({ description: 'Which one', values: GroutingFigure, name: 'GroutingFigure' })
  figure: GroutingFigure;

  @DecimalField({ description: 'Lowest value published [bar, -, kg/m² or m/m²]' })
  low: string;

  @DecimalField({ description: 'Highest value published [bar, -, kg/m² or m/m²]' })
  high: string;

  @TextField({ description: 'Where the range is published' })
  source: string;
}

/** The purpose of a round, its progress, and its place. */
@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
export abstract class GroutingRoundPlace {
  @EnumField({
    description: 'Ahead of the face or behind it',
    values: GroutingPurpose,
    name: 'GroutingPurpose',
  })
  purpose: GroutingPurpose;

  @EnumField({ description: 'State of the round', values: GroutingState, name: 'GroutingState' })
  state: GroutingState;

  @ChainageField({ description: 'Where the interval treated begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
abstract class GroutingRoundAsMade extends GroutingRoundPlace {
  @ChainageField({ description: 'Chainage of the face during the round', optional: true })
  face?: string;

  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended; required of a complete round', optional: true })
  endedAt?: string;

  @CodeField({ description: 'Measurement of inflow that led to it', optional: true })
  triggerMeasurement?: string;

  @CodeField({ description: 'Probe hole that led to it', optional: true })
  triggerHole?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'A grouting round, whole: with its holes and what each of them took.' })
export class GroutingRoundInput extends GroutingRoundAsMade {
  @ListField(() => GroutingHoleInput, { description: 'Its holes', max: 500, empty: true })
  holes: GroutingHoleInput[] = [];

  @TextListField({
    description: 'Names of the probe holes drilled to check it, which are in state control_hole',
    optional: true,
    maxLength: 40,
  })
  controlHoles?: string[];
}

@ObjectType({
  description: 'A grouting round with what it took, from report.grouting_round; without its holes.',
})
export class GroutingRoundSummary extends GroutingRoundAsMade {
  @CodeField({ description: NAME })
  name: string;

  @IntField({ description: 'Number of holes' })
  holeCount: number;

  @DecimalField({ description: 'Length of the holes together [m]' })
  holeM: string;

  @DecimalField({ description: 'Dry mass of all mixes [kg]' })
  massKg: string;

  @DecimalField({
    description: 'Volume of grout of all mixes; absent: of one it is not noted [l]',
    optional: true,
  })
  volumeL?: string;

  @DecimalField({
    description: 'Water/cement ratio of all mixes with cement together, by mass [-]',
    optional: true,
  })
  waterCementRatio?: string;

  @DecimalField({
    description:
      'Grouting time of the holes whose start and end are recorded, summed: two at once count twice [h]',
    decimals: 4,
    optional: true,
  })
  groutingHours?: string;

  @DecimalField({
    description: 'From the start of the round to its end [h]',
    decimals: 4,
    optional: true,
  })
  roundHours?: string;

  @DecimalField({ description: 'Length of the interval treated [m]' })
  treatedM: string;

  @DecimalField({
    description: 'Surface of the bore over the interval treated: π × bored diameter × length [m²]',
  })
  treatedSurfaceM2: string;

  @DecimalField({ description: 'Dry mass per metre of hole [kg/m]', optional: true })
  takeKgPerM?: string;

  @DecimalField({ description: 'Volume of grout per metre of hole [l/m]', optional: true })
  takeLPerM?: string;

  @DecimalField({ description: 'Dry mass per square metre of the surface treated [kg/m²]' })
  takeKgPerM2: string;

  @DecimalField({ description: 'Metres of hole per square metre of the surface treated [m/m²]' })
  holeMPerM2: string;

  @DecimalField({ description: 'Highest pressure at the end of a hole [bar]', optional: true })
  pressureEndBar?: string;

  @DecimalField({ description: 'Highest inflow of the control holes [l/min]', optional: true })
  controlInflowLPerMin?: string;

  @DecimalField({ description: 'Trigger of inflow from one hole in force [l/min]', optional: true })
  controlTriggerLPerMin?: string;

  @BooleanField({
    description:
      'Whether every control hole was measured after the round and is at most at the trigger; false: one is above it; absent: not known',
    optional: true,
  })
  controlIsMet?: boolean;

  @ListField(() => GroutingBeyondPublished, {
    description:
      'Of pre-grouting that is complete, the figures outside of the ranges published in NFF 14; absent: not compared',
    optional: true,
  })
  beyondPublished?: GroutingBeyondPublished[];

  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

@ObjectType({ description: 'A grouting round, whole, with what it took.' })
export class GroutingRound extends GroutingRoundSummary {
  @ListField(() => GroutingHole, { description: 'Its holes, by name' })
  holes: GroutingHole[];

  @TextListField({ description: 'Names of its control holes, as they were entered' })
  controlHoles: string[];

  @ListField(() => GroutingControlHole, { description: 'What its control holes show, in the same order' })
  controlResults: GroutingControlHole[];
}

@ObjectType({ description: 'A page of grouting rounds, by time.' })
export class GroutingRoundPage {
  @ListField(() => GroutingRoundSummary, { description: 'The rounds, by start and by name' })
  items: GroutingRoundSummary[];

  @NextField()
  next?: string;
}
