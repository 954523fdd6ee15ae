import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
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
import { ReasonField } from '../../../common/auth/reason.js';
import { Signatures, SignedFor } from '../../site/parties/signed-for.model.js';
import { ClassDecisionState } from '../../../generated/prisma/enums.js';

registerEnum(ClassDecisionState, {
  name: 'ClassDecisionState',
  description:
    'proposed: written by one person. agreed: another person has agreed. disputed: another person does not agree. withdrawn: no longer counts.',
  values: {
    proposed: 'Written by one person',
    agreed: 'Agreed by another person',
    disputed: 'Another person does not agree',
    withdrawn: 'No longer counts',
  },
});

const NUMBER = 'Number of the decision in its drive, given by the client';
const CONTRACTOR = 'Representative of the contractor';
const EMPLOYER = 'Representative of the client, the employer under the contract';

/** Number in a drive. */
@ArgsType()
export class ClassDecisionPath extends DrivePath {
  @IntField({ description: NUMBER, min: 1 })
  number: number;
}

/** Number, where the drive is known. */
@ArgsType()
export class ClassDecisionArgs {
  @IntField({ description: NUMBER, min: 1 })
  number: number;
}

@InputType({ description: 'A ground class by the contract over a length of the drive, as proposed.' })
@ObjectType({ isAbstract: true })
export class ClassDecisionInput {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @CodeField({ description: 'Code of the ground class' })
  groundClass: string;

  @TextField({ description: CONTRACTOR, maxLength: 200, optional: true })
  contractorRepresentative?: string;

  @TextField({ description: EMPLOYER, maxLength: 200, optional: true })
  employerRepresentative?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'Representatives of the parties when a class was agreed.' })
export class ClassAgreementInput {
  @TextField({
    description: `${CONTRACTOR}; as proposed when absent. Both parties are named when it is agreed`,
    maxLength: 200,
    optional: true,
  })
  contractorRepresentative?: string;

  @TextField({
    description: `${EMPLOYER}; as proposed when absent`,
    maxLength: 200,
    optional: true,
  })
  employerRepresentative?: string;
}

@InputType({ description: 'Why a class decision is disputed.' })
export class ClassDisputeInput {
  @ReasonField({ description: 'What is disputed' })
  reason: string;
}

@InputType({ description: 'Why a class decision no longer counts.' })
export class ClassWithdrawalInput {
  @ReasonField({ description: 'Why it no longer counts' })
  reason: string;
}

@ObjectType({
  description:
    'Class of the ground by the contract over a length of the drive, and its state between the parties.',
})
export class ClassDecision extends ClassDecisionInput {
  @IntField({ description: NUMBER })
  number: number;

  @EnumField({ description: 'Its state', values: ClassDecisionState, name: 'ClassDecisionState' })
  state: ClassDecisionState;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @TextField({ description: 'Who wrote it last while it was proposed' })
  proposedBy: string;

  @InstantField({ description: 'When' })
  proposedAt: string;

  @TextField({ description: 'Who agreed: someone other than the proposer', optional: true })
  agreedBy?: string;

  @InstantField({ description: 'When', optional: true })
  agreedAt?: string;

  @TextField({ description: 'Who disputed it; stays when it is agreed afterwards', optional: true })
  disputedBy?: string;

  @InstantField({ description: 'When', optional: true })
  disputedAt?: string;

  @TextField({ description: 'What was disputed', optional: true })
  disputeReason?: string;

  @TextField({ description: 'Who withdrew it', optional: true })
  withdrawnBy?: string;

  @InstantField({ description: 'When', optional: true })
  withdrawnAt?: string;

  @TextField({ description: 'Why', optional: true })
  withdrawalReason?: string;

  @ObjectField(() => SignedFor, { description: 'For which party it was proposed', optional: true })
  proposedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'For which party it was agreed', optional: true })
  agreedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'For which party it was disputed', optional: true })
  disputedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'For which party it was withdrawn', optional: true })
  withdrawnFor?: SignedFor;

  @EnumField({
    description: 'Whether both sides of the contract signed: proposed and agreed; absent until it is agreed',
    values: Signatures,
    name: 'Signatures',
    optional: true,
  })
  signatures?: Signatures;

  @TextField({ description: 'Entity tag of this version' })
  etag: string;
}

@ObjectType({ description: 'A page of class decisions, by number.' })
export class ClassDecisionPage {
  @ListField(() => ClassDecision, { description: 'The decisions', max: 1000 })
  items: ClassDecision[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}
