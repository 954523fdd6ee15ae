import { InputType, ObjectType } from '@nestjs/graphql';
import {
  EnumField,
  InstantField,
  IntField,
  ObjectField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { ReasonField } from '../../../common/auth/reason.js';
import { Signatures, SignedFor } from '../../site/parties/signed-for.model.js';
import { ShiftState } from '../../../generated/prisma/enums.js';
import '../shift-state/shift-state.js';

@InputType({ description: 'Why a shift is reopened.' })
export class ReopenInput {
  @ReasonField({ description: 'Why the shift is reopened' })
  reason: string;
}

@InputType({ description: 'Why a shift is not accepted as it was submitted.' })
export class DisputeShiftInput {
  @ReasonField({ description: 'Why the shift is not accepted as it was submitted' })
  reason: string;
}

@ObjectType({ description: 'A version of a shift, as one change left it.' })
export class ShiftVersion {
  @IntField({ description: 'Number of the change in the history of the project' })
  change: number;

  @EnumField({ description: 'State of the shift then', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @TextField({ description: 'Entity tag of the version' })
  etag: string;

  @InstantField({ description: 'When it was written' })
  madeAt: string;

  @TextField({ description: 'Who wrote it' })
  madeBy: string;

  @TextField({ description: 'Reason, if one was given', optional: true })
  reason?: string;

  @InstantField({
    description: 'When it was replaced or removed; absent for the current version',
    optional: true,
  })
  until?: string;

  @TextListField({ description: 'Everyone who had posted the shift by then' })
  postedBy: string[];

  @InstantField({
    description: 'When that version was submitted; absent: a draft, or submitted before this was recorded',
    optional: true,
  })
  submittedAt?: string;

  @TextField({ description: 'Who disputed it', optional: true })
  disputedBy?: string;

  @InstantField({ description: 'When it was disputed', optional: true })
  disputedAt?: string;

  @TextField({ description: 'Why it was disputed', maxLength: 500, optional: true })
  disputeReason?: string;

  @ObjectField(() => SignedFor, { description: 'For which party it was disputed', optional: true })
  disputedFor?: SignedFor;

  @TextField({ description: 'Who countersigned it', optional: true })
  countersignedBy?: string;

  @InstantField({ description: 'When it was countersigned', optional: true })
  countersignedAt?: string;

  @ObjectField(() => SignedFor, { description: 'Party on whose behalf it was last posted', optional: true })
  postedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'Party on whose behalf it was countersigned', optional: true })
  countersignedFor?: SignedFor;

  @EnumField({
    description:
      'Whether both sides of the contract signed: posted and countersigned; absent until it is countersigned',
    values: Signatures,
    name: 'Signatures',
    optional: true,
  })
  signatures?: Signatures;
}
