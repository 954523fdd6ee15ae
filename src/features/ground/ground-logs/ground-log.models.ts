import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { Matches } from 'class-validator';
import { NextField } from '../../../common/api/cursor.js';
import {
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  NumberField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import type { RecordDoubt } from '../../driving/doubts/doubt.models.js';
import { DoubtsField, DoubtsOfOneField } from '../../driving/doubts/doubts-told.js';
import { Signatures, SignedFor } from '../../site/parties/signed-for.model.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { QRating, QRatingInput, RmrRating, RmrRatingInput } from './rating.models.js';

export const WaterState = {
  dry: 'dry',
  damp: 'damp',
  wet: 'wet',
  dripping: 'dripping',
  flowing: 'flowing',
} as const;
export type WaterState = (typeof WaterState)[keyof typeof WaterState];

registerEnum(WaterState, {
  name: 'WaterState',
  description: 'State of the groundwater, as seen.',
  values: {
    dry: 'No water',
    damp: 'Discoloured or moist, no free water',
    wet: 'Wet surfaces, no drops',
    dripping: 'Falling drops',
    flowing: 'Running water',
  },
});

export const MappedPlace = {
  face: 'face',
  crown: 'crown',
  left_wall: 'left_wall',
  right_wall: 'right_wall',
  invert: 'invert',
  full_section: 'full_section',
} as const;
export type MappedPlace = (typeof MappedPlace)[keyof typeof MappedPlace];

registerEnum(MappedPlace, {
  name: 'MappedPlace',
  description: 'Face of the opening that a log maps; left and right looking ahead.',
  values: {
    face: 'Tunnel face',
    crown: 'Crown',
    left_wall: 'Left wall, looking ahead',
    right_wall: 'Right wall, looking ahead',
    invert: 'Invert',
    full_section: 'All of the section',
  },
});

export const MappedFor = {
  contractor: 'contractor',
  supervisor: 'supervisor',
  client: 'client',
  designer: 'designer',
} as const;
export type MappedFor = (typeof MappedFor)[keyof typeof MappedFor];

registerEnum(MappedFor, {
  name: 'MappedFor',
  description: 'Party that a log was mapped for.',
  values: {
    contractor: 'Contractor',
    supervisor: 'Supervisor, who acts for the client',
    client: 'Client',
    designer: 'Designer',
  },
});

export const GoverningState = { proposed: 'proposed', agreed: 'agreed' } as const;
export type GoverningState = (typeof GoverningState)[keyof typeof GoverningState];

registerEnum(GoverningState, {
  name: 'GoverningState',
  description: 'proposed: by one person; it does not govern yet. agreed: by another person; the log governs.',
  values: {
    proposed: 'Proposed by one person: it does not govern yet',
    agreed: 'Agreed by another person: the log governs',
  },
});

const NAME = 'Name of the log, such as GL-0412';

@ArgsType()
export class GroundLogPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@InputType('JointOrientationInput', {
  description: 'Orientation of the governing joints, and of the drive at the log.',
})
@ObjectType({ description: 'Orientation of the governing joints, and of the drive at the log.' })
export class JointOrientation {
  @NumberField({ description: 'Dip [°]', max: 90, decimals: 2 })
  dipDeg: number;

  @NumberField({ description: 'Azimuth of the dip, below 360 [°]', max: 359.99, decimals: 2 })
  dipDirectionDeg: number;

  @NumberField({
    description: 'Azimuth of the drive there, in the direction it advances, below 360 [°]',
    max: 359.99,
    decimals: 2,
  })
  driveAzimuthDeg: number;
}

@ObjectType({
  description:
    'Row of R6 that dip, dip direction and axis propose. Nothing is rated by it: the orientation of the log counts.',
})
export class OrientationProposal {
  @CodeField({ description: 'Edition of the table' })
  edition: string;

  @TextField({ description: 'Row of the table strike_and_dip' })
  row: string;

  @TextField({ description: 'Row of the table orientation' })
  orientation: string;

  @IntField({ description: 'Its rating, R6', min: -12 })
  rating: number;

  @NumberField({ description: 'Angle between strike and axis, 0 to 90 [°]' })
  strikeAngleDeg: number;

  @TextField({ description: 'What the table does not say here', optional: true })
  remark?: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
class GroundLogFacts {
  @ChainageField({
    description: 'Where the mapped length begins; logs of one face of the opening and party do not overlap',
  })
  from: string;

  @ChainageField({ description: 'Where it ends, ahead of its beginning' })
  to: string;

  @ChainageField({ description: 'Where the face stood when it was mapped', optional: true })
  faceChainage?: string;

  @Matches(/\S/, { message: '$property is missing' })
  @TextField({ description: 'Who mapped it', maxLength: 100 })
  mappedBy: string;

  @EnumField({
    description: 'Party that it was mapped for; absent: not said',
    values: MappedFor,
    name: 'MappedFor',
    optional: true,
  })
  mappedFor?: MappedFor;

  @InstantField({ description: 'When it was mapped' })
  mappedAt: string;

  @TextField({ description: 'Kind of rock', optional: true })
  lithology?: string;

  @NumberField({
    description: 'Uniaxial compressive strength of the intact rock [MPa]',
    max: 1000,
    optional: true,
  })
  ucsMpa?: number;

  @NumberField({ description: 'Point load index Is(50) [MPa]', max: 100, optional: true })
  pointLoadMpa?: number;

  @NumberField({ description: 'RQD [%]', max: 100, optional: true })
  rqdPercent?: number;

  @NumberField({ description: 'Volumetric joint count [1/m³]', max: 1000, optional: true })
  jvPerM3?: number;

  @NumberField({
    description:
      'Frequency of the joints, all of them, counted along a line (scanline or core) [1/m]; for RQD by frequency',
    max: 1000,
    optional: true,
  })
  jointFrequencyPerM?: number;

  @ObjectField(() => JointOrientation, {
    description: 'Orientation of the governing joints and of the drive, by which R6 is proposed',
    optional: true,
  })
  jointOrientation?: JointOrientation;

  @NumberField({ description: 'Mean spacing of the joints [m]', min: 0.001, max: 100, optional: true })
  jointSpacingM?: number;

  @NumberField({ description: 'Inflow per 10 m of tunnel [l/min]', max: 1_000_000, optional: true })
  waterInflowLPerMinPer10M?: number;

  @NumberField({
    description: 'Joint water pressure over major principal stress',
    max: 100,
    optional: true,
  })
  waterPressureRatio?: number;

  @EnumField({
    description: 'State of the groundwater',
    values: WaterState,
    name: 'WaterState',
    optional: true,
  })
  waterState?: WaterState;

  @DecimalField({
    description: 'Geological Strength Index as observed; never computed',
    max: 100,
    decimals: 1,
    optional: true,
  })
  gsi?: string;

  @TextField({ description: 'Remark', maxLength: 4000, optional: true })
  remark?: string;
}

@ObjectType({ description: 'That a log is proposed or agreed as the governing one of its place.' })
export class GoverningLog {
  @EnumField({ description: 'Its state', values: GoverningState, name: 'GoverningState' })
  state: GoverningState;

  @TextField({ description: 'Why it was proposed' })
  reason: string;

  @TextField({ description: 'Who proposed it' })
  proposedBy: string;

  @InstantField({ description: 'When' })
  proposedAt: string;

  @TextField({ description: 'Who agreed: someone other than the proposer', optional: true })
  agreedBy?: string;

  @InstantField({ description: 'When', optional: true })
  agreedAt?: string;

  @ObjectField(() => SignedFor, {
    description: 'For which party it was proposed; absent: not recorded',
    optional: true,
  })
  proposedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'For which party it was agreed', optional: true })
  agreedFor?: SignedFor;

  @EnumField({
    description: 'Whether both sides signed; absent: not agreed',
    values: Signatures,
    name: 'Signatures',
    optional: true,
  })
  signatures?: Signatures;
}

@InputType({ description: 'Why a log no longer governs.' })
export class GoverningReasonInput {
  @ReasonField({ description: 'Why' })
  reason: string;
}

@InputType({ description: 'The ground of a length or a face, as it was mapped.' })
export class GroundLogInput extends GroundLogFacts {
  @EnumField({
    description: 'Face of the opening that it maps; face when not given',
    values: MappedPlace,
    name: 'MappedPlace',
    optional: true,
  })
  mappedPlace?: MappedPlace;

  @ObjectField(() => QRatingInput, { description: 'Inputs of Q; absent: not rated by Q', optional: true })
  q?: QRatingInput;

  @ObjectField(() => RmrRatingInput, {
    description: 'Inputs of RMR; absent: not rated by RMR',
    optional: true,
  })
  rmr?: RmrRatingInput;
}

@ObjectType({ description: 'What the geologist mapped over a length of the drive, from report.ground_log.' })
export class GroundLog extends GroundLogFacts {
  @CodeField({ description: NAME })
  name: string;

  @DecimalField({ description: 'Mapped length [m]' })
  lengthM: string;

  @EnumField({
    description: 'Face of the opening that it maps',
    values: MappedPlace,
    name: 'MappedPlace',
  })
  mappedPlace: MappedPlace;

  @ObjectField(() => GoverningLog, {
    description: 'Whether it is proposed or agreed as the governing log of its place; absent: not proposed',
    optional: true,
  })
  governing?: GoverningLog;

  @CodeField({ description: 'Class of the strength by ISRM 1978, R0 to R6', optional: true })
  strengthClass?: string;

  @ObjectField(() => OrientationProposal, {
    description: 'R6 as proposed by the orientation; absent without one',
    optional: true,
  })
  orientationProposal?: OrientationProposal;

  @ObjectField(() => QRating, { description: 'Q; absent when not rated by it', optional: true })
  q?: QRating;

  @ObjectField(() => RmrRating, { description: 'RMR; absent when not rated by it', optional: true })
  rmr?: RmrRating;

  @DoubtsOfOneField()
  doubts?: RecordDoubt[];
}

/** What is answered about one log. */
export class GroundLogWithDoubts extends GroundLog {
  @DoubtsField()
  declare doubts: RecordDoubt[];
}

@ObjectType({ description: 'A page of ground logs, along the drive.' })
export class GroundLogPage {
  @ListField(() => GroundLog, { description: 'The logs, by where they begin' })
  items: GroundLog[];

  @NextField()
  next?: string;
}
