import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { PartySide } from '../../../generated/prisma/enums.js';
import { SignedFor } from '../../site/parties/signed-for.model.js';

@ArgsType()
export class HoldPointPath extends DrivePath {
  @CodeField({ description: 'Code of the hold point' })
  code: string;
}

@InputType({ description: 'A hold point, as put.' })
@ObjectType({ isAbstract: true })
export class HoldPointInput {
  @ChainageField({ description: 'Chainage that the face must not pass before the point is released' })
  chainage: string;

  @Names('state why the face is to hold')
  @TextField({ description: 'Why the face is to hold there', maxLength: 2000 })
  reason: string;

  @EnumField({
    description: 'The side of the contract whose persons release it, change it and remove it',
    values: PartySide,
    name: 'PartySide',
  })
  side: PartySide;

  @Names('name who releases it')
  @TextField({ description: 'Who of that side, such as the site geologist', maxLength: 200, optional: true })
  role?: string;
}

@InputType({ description: 'A release of a hold point.' })
export class HoldPointReleaseInput {
  @Names('state the evidence')
  @TextField({ description: 'On what evidence, or its reference', maxLength: 2000 })
  evidence: string;

  @InstantField({ description: 'When it was released; now when absent, never later', optional: true })
  releasedAt?: string;
}

@InputType({ description: 'Why the release of a hold point no longer counts.' })
export class HoldPointWithdrawalInput {
  @ReasonField({ description: 'Why it no longer counts' })
  reason: string;
}

@ObjectType({ description: 'A release of a hold point; one that was withdrawn counts no more and stays.' })
export class HoldPointRelease {
  @InstantField({ description: 'When it was released, as its writer states' })
  releasedAt: string;

  @TextField({ description: 'Who released it' })
  releasedBy: string;

  @ObjectField(() => SignedFor, { description: 'For which party; absent: not recorded', optional: true })
  releasedFor?: SignedFor;

  @TextField({ description: 'On what evidence', maxLength: 2000 })
  evidence: string;

  @InstantField({ description: 'When it was entered' })
  recordedAt: string;

  @TextField({ description: 'Who withdrew it', optional: true })
  withdrawnBy?: string;

  @InstantField({ description: 'When', optional: true })
  withdrawnAt?: string;

  @ObjectField(() => SignedFor, { description: 'For which party it was withdrawn', optional: true })
  withdrawnFor?: SignedFor;

  @TextField({ description: 'Why', optional: true })
  withdrawalReason?: string;
}

export const HOLD_POINT_CAUTION =
  'Decision support: it reports what was entered and where the record has the face, and decides nothing. ' +
  'The responsible person decides whether the face may go on.';

@ObjectType({ description: 'A hold point of a drive, from report.hold_point_register.' })
export class HoldPoint extends HoldPointInput {
  @CodeField({ description: 'Code of the hold point' })
  code: string;

  @DecimalField({
    description: 'From the face to it along the drive; negative behind the face [m]',
    min: -10_000_000,
  })
  aheadM: string;

  @BooleanField({ description: 'Whether a boring ends beyond it' })
  isPassed: boolean;

  @BooleanField({ description: 'Whether a release stands' })
  isReleased: boolean;

  @BooleanField({ description: 'Whether the face has passed it and no release stands' })
  isPassedUnreleased: boolean;

  @InstantField({
    description:
      'When the face passed it, by even progress of the boring that did; absent: not passed, or by one without times',
    optional: true,
  })
  passedAt?: string;

  @IntField({ description: 'The stroke that passed it', optional: true })
  passedByStroke?: number;

  @BooleanField({
    description:
      'Whether it was released after the face had passed it; absent: not released, or not passed at a known time',
    optional: true,
  })
  isReleasedLate?: boolean;

  @TextField({ description: 'Who wrote it last' })
  setBy: string;

  @InstantField({ description: 'When' })
  setAt: string;

  @ListField(() => HoldPointRelease, { description: 'Its releases, the last first; withdrawn ones too' })
  releases: HoldPointRelease[];

  @TextField({ description: 'What it does not say' })
  caution: string;
}
