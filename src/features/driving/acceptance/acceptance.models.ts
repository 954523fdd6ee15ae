import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  CodeField,
  DateField,
  EnumField,
  InstantField,
  IntField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';
import { ShiftState } from '../../../generated/prisma/enums.js';
import { Signatures, SignedFor } from '../../site/parties/signed-for.model.js';

@ArgsType()
export class AcceptanceRulePath extends ProjectPath {
  @DateField({ description: 'Date from which the rule is in force' })
  validFrom: string;
}

@InputType({ description: 'What a rule of acceptance says from its date on.' })
@ObjectType({ isAbstract: true })
export class AcceptanceRuleInput {
  @IntField({
    description:
      'Calendar days after the day of submission in which the other side may countersign or dispute; absent: from that date on silence accepts nothing [d]',
    min: 1,
    max: 365,
    optional: true,
  })
  days?: number;

  @Names('state what the contract says, or where')
  @TextField({ description: 'What the contract says, or where', maxLength: 500 })
  clause: string;

  @BooleanField({
    description:
      'Whether valuations count what is deemed accepted under it; each line shows which shifts. Default false: only what is countersigned pays',
    optional: true,
  })
  pays?: boolean;
}

@ObjectType({ description: 'Agreement of one side of the contract.' })
export class SideAgreement {
  @TextField({ description: 'Who agreed' })
  by: string;

  @InstantField({ description: 'When' })
  at: string;

  @ObjectField(() => SignedFor, { description: 'For which party' })
  party: SignedFor;
}

@ObjectType({
  description:
    'Days after which an unanswered shift is deemed accepted. The rule in force on the day a shift was submitted applies to it. Where two sides sign, a rule is in force once both have agreed to it.',
})
export class AcceptanceRule extends AcceptanceRuleInput {
  @DateField({ description: 'Date from which it is in force, until the next one' })
  validFrom: string;

  @BooleanField({
    description: 'Whether it is in force from then on; false: proposed, both sides have not agreed',
  })
  inForce: boolean;

  @ObjectField(() => SideAgreement, { description: 'Agreement of the contractor’s side', optional: true })
  agreedContractor?: SideAgreement;

  @ObjectField(() => SideAgreement, { description: 'Agreement of the client’s side', optional: true })
  agreedClient?: SideAgreement;
}

export const Acceptance = {
  draft: 'draft',
  submitted: 'submitted',
  disputed: 'disputed',
  deemed_accepted: 'deemed_accepted',
  countersigned: 'countersigned',
} as const;
export type Acceptance = (typeof Acceptance)[keyof typeof Acceptance];

registerEnum(Acceptance, {
  name: 'Acceptance',
  description:
    'submitted: the other side has not answered. disputed: it disputes it, in time. deemed_accepted: it did neither within the days of the project’s rule; this is not a signature. countersigned: it signed.',
  values: {
    draft: 'Not submitted',
    submitted: 'The other side has not answered',
    disputed: 'The other side disputes it, in time',
    deemed_accepted: 'The other side did not answer within the days of the rule: not a signature',
    countersigned: 'The other side signed',
  },
});

@ObjectType({
  description:
    'Acceptance of a shift, from report.shift_acceptance. Deemed acceptance is the project’s rule applied to silence, not a signature: the contract decides what follows from it.',
})
export class ShiftAcceptance {
  @DateField({ description: 'Date of the shift' })
  date: string;

  @CodeField({ description: 'Name of the shift' })
  shift: string;

  @EnumField({ description: 'State of the shift', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @EnumField({
    description: 'Its acceptance, at the moment asked for',
    values: Acceptance,
    name: 'Acceptance',
  })
  acceptance: Acceptance;

  @InstantField({
    description:
      'When the current version was submitted; absent: a draft, or submitted before this was recorded',
    optional: true,
  })
  submittedAt?: string;

  @ObjectField(() => SignedFor, { description: 'Party on whose behalf it was last posted', optional: true })
  postedFor?: SignedFor;

  @DateField({
    description: 'Last day on which the other side can answer before it is deemed accepted',
    optional: true,
  })
  respondBy?: string;

  @DateField({ description: 'Day at whose start it is deemed accepted', optional: true })
  deemedOn?: string;

  @IntField({ description: 'Days of the rule in force on the day it was submitted [d]', optional: true })
  ruleDays?: number;

  @TextField({ description: 'What the contract says, or where', maxLength: 500, optional: true })
  ruleClause?: string;

  @BooleanField({
    description: 'Whether deemed acceptance under that rule is payable',
    optional: true,
  })
  rulePays?: boolean;

  @TextField({ description: 'Who disputes it; after deemedOn the dispute is late', optional: true })
  disputedBy?: string;

  @InstantField({ description: 'When', optional: true })
  disputedAt?: string;

  @TextField({ description: 'Why', maxLength: 500, optional: true })
  disputeReason?: string;

  @ObjectField(() => SignedFor, { description: 'For which party it is disputed', optional: true })
  disputedFor?: SignedFor;

  @TextField({ description: 'Who countersigned it', optional: true })
  countersignedBy?: string;

  @InstantField({ description: 'When', optional: true })
  countersignedAt?: string;

  @ObjectField(() => SignedFor, { description: 'Party on whose behalf it was countersigned', optional: true })
  countersignedFor?: SignedFor;

  @EnumField({
    description: 'Whether both sides of the contract signed; absent until it is countersigned',
    values: Signatures,
    name: 'Signatures',
    optional: true,
  })
  signatures?: Signatures;
}
