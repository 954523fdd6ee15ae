import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import {
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { Signatures, SignedFor } from '../../site/parties/signed-for.model.js';
import { ReasonField } from '../../../common/auth/reason.js';

@ArgsType()
export class LumpPath extends DrivePath {
  @CodeField({ description: 'Reference of the lump sum' })
  reference: string;

  @DateField({ description: 'By the end of this day' })
  day: string;
}

@InputType({ description: 'How much of a lump sum is done.' })
export class LumpProgressInput {
  @DecimalField({ description: 'Share of the lump sum that is done [%]', max: 100, decimals: 4 })
  percent: string;
}

@ObjectType({ description: 'How much of a lump sum is done by the end of a day.' })
export class LumpProgress {
  @CodeField({ description: 'Reference of the lump sum' })
  reference: string;

  @DateField({ description: 'By the end of this day' })
  day: string;

  @DecimalField({ description: 'Share that is done [%]', decimals: 4 })
  percent: string;
}

@ArgsType()
export class DisputePath extends DrivePath {
  @IntField({ description: 'Number of the dispute', min: 1 })
  number: number;
}

@InputType({ description: 'What of a measured quantity is disputed, and why.' })
@ObjectType({ isAbstract: true })
export class DisputeInput {
  @CodeField({ description: 'Reference of the item' })
  reference: string;

  @TextField({ description: 'Key of the record, as the line’s sources have it', maxLength: 200 })
  sourceKey: string;

  @ReasonField({ description: 'Why its quantity is disputed' })
  reason: string;
}

@InputType({ description: 'How a dispute was settled.' })
export class SettlementInput {
  @ReasonField({
    description:
      'What was agreed. Where two sides sign, what one proposes is settled once the other sends the same wording',
  })
  settlement: string;
}

@ObjectType({
  description:
    'A record whose quantity under an item is disputed: it is held apart until the dispute is settled.',
})
export class QuantityDispute extends DisputeInput {
  @IntField({ description: 'Number: 1, 2, 3 … on a drive' })
  number: number;

  @TextField({ description: 'Who raised it' })
  raisedBy: string;

  @InstantField({ description: 'When' })
  raisedAt: string;

  @ObjectField(() => SignedFor, {
    description: 'For which party it was raised; absent: not recorded',
    optional: true,
  })
  raisedFor?: SignedFor;

  @TextField({ description: 'What is proposed; once it is settled, what was agreed', optional: true })
  settlement?: string;

  @TextField({ description: 'Who proposed it', optional: true })
  settlementBy?: string;

  @InstantField({ description: 'When', optional: true })
  settlementAt?: string;

  @ObjectField(() => SignedFor, { description: 'For which party', optional: true })
  settlementFor?: SignedFor;

  @TextField({ description: 'Who settled it', optional: true })
  settledBy?: string;

  @InstantField({ description: 'When; absent: it is open', optional: true })
  settledAt?: string;

  @ObjectField(() => SignedFor, { description: 'For which party', optional: true })
  settledFor?: SignedFor;

  @EnumField({
    description: 'Whether both sides agreed to the settlement; absent: one person settled it, or it is open',
    values: Signatures,
    name: 'Signatures',
    optional: true,
  })
  signatures?: Signatures;
}
