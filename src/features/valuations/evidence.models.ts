import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { NumberRead } from '../../common/api/number-read.js';
import {
  CodeField,
  DateField,
  DecimalField,
  InstantField,
  IntField,
  TextField,
} from '../../common/api/fields.js';
import { DrivePath } from '../../common/api/paths.js';
import { ReasonField } from '../../common/auth/reason.js';

@ArgsType()
export class LumpPath extends DrivePath {
  @CodeField({ description: 'Reference of the lump sum' })
  reference: string;

  @DateField({ description: 'By the end of this day' })
  day: string;
}

@InputType()
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
  @NumberRead()
  @IntField({ description: 'Number of the dispute', min: 1 })
  number: number;
}

@InputType()
@ObjectType({ isAbstract: true })
export class DisputeInput {
  @CodeField({ description: 'Reference of the item' })
  reference: string;

  @TextField({ description: 'Key of the record, as the line’s sources have it', maxLength: 200 })
  sourceKey: string;

  @ReasonField({ description: 'Why its quantity is disputed' })
  reason: string;
}

@InputType()
export class SettlementInput {
  @ReasonField({ description: 'What was agreed' })
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

  @TextField({ description: 'Who settled it', optional: true })
  settledBy?: string;

  @InstantField({ description: 'When', optional: true })
  settledAt?: string;

  @TextField({ description: 'What was agreed', optional: true })
  settlement?: string;
}
