import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { Names } from '../../../common/api/rules.js';

@ArgsType()
export class NoticeRulePath extends ProjectPath {
  @CodeField({ description: 'Code of the rule' })
  code: string;
}

@ArgsType()
export class NoticePath extends DrivePath {
  @CodeField({ description: 'Code of the notice' })
  code: string;
}

@InputType({ description: 'When the contract asks for a notice.' })
@ObjectType({ isAbstract: true })
export class NoticeRuleInput {
  @Names('state what is notified')
  @TextField({ description: 'What is notified, such as unforeseen ground', maxLength: 200 })
  name: string;

  @IntField({
    description: 'Calendar days after the day of the event within which it is notified [d]',
    min: 1,
    max: 3660,
  })
  days: number;

  @Names('state what the contract says, or where')
  @TextField({ description: 'What the contract says, or where', maxLength: 500 })
  clause: string;
}

@ObjectType({ description: 'What the contract says must be notified, and within how many days.' })
export class NoticeRule extends NoticeRuleInput {
  @CodeField({ description: 'Code of the rule' })
  code: string;
}

@InputType({ description: 'A notice under the contract, as it was sent or answered.' })
@ObjectType({ isAbstract: true })
export class NoticeInput {
  @CodeField({ description: 'Code of the rule under which it is notified' })
  rule: string;

  @InstantField({ description: 'When it happened' })
  happenedAt: string;

  @Names('state what it concerns')
  @TextField({ description: 'What it concerns', maxLength: 2000 })
  concerns: string;

  @ChainageField({ description: 'Where it begins', optional: true })
  from?: string;

  @ChainageField({ description: 'Where it ends; from when absent', optional: true })
  to?: string;

  @DateField({ description: 'Date of the shift that it concerns', optional: true })
  shiftDate?: string;

  @CodeField({ description: 'Name of that shift', optional: true })
  shiftName?: string;

  @InstantField({ description: 'When the notice was sent', optional: true })
  sentAt?: string;

  @TextField({ description: 'Who sent it; given with sentAt', maxLength: 200, optional: true })
  sentBy?: string;

  @TextField({ description: 'Reference of the letter', maxLength: 200, optional: true })
  sentReference?: string;

  @InstantField({ description: 'When it was answered', optional: true })
  answeredAt?: string;

  @TextField({ description: 'Who answered it; given with answeredAt', maxLength: 200, optional: true })
  answeredBy?: string;

  @TextField({ description: 'What the answer says, or its reference', maxLength: 2000, optional: true })
  answer?: string;
}

export const NoticeState = {
  due: 'due',
  overdue: 'overdue',
  sent: 'sent',
  answered: 'answered',
} as const;
export type NoticeState = (typeof NoticeState)[keyof typeof NoticeState];

registerEnum(NoticeState, {
  name: 'NoticeState',
  description:
    'due: not sent, and in time until dueOn. overdue: not sent by then. sent and answered: as named.',
  values: {
    due: 'Not sent, and in time until the due date',
    overdue: 'Not sent by the due date',
    sent: 'Sent',
    answered: 'Sent and answered',
  },
});

export const NOTICE_CAUTION =
  'A reminder by the rules that the project entered. The contract decides what must be notified, to whom, in which form and by when, ' +
  'and what follows when it is not.';

@ObjectType({ description: 'An event that calls for a notice, from report.notice.' })
export class Notice extends NoticeInput {
  @CodeField({ description: 'Code of the notice' })
  code: string;

  @TextField({ description: 'What is notified', maxLength: 200 })
  ruleName: string;

  @IntField({ description: 'Days of the rule [d]' })
  ruleDays: number;

  @TextField({ description: 'What the contract says, or where', maxLength: 500 })
  ruleClause: string;

  @DateField({ description: 'Last day on which it can be sent in time' })
  dueOn: string;

  @EnumField({
    description: 'Its state, at the moment asked for',
    values: NoticeState,
    name: 'NoticeState',
  })
  state: NoticeState;

  @IntField({
    description: 'Days until dueOn, negative when overdue; absent: it is sent [d]',
    min: -1_000_000,
    optional: true,
  })
  daysLeft?: number;

  @BooleanField({ description: 'Whether it was sent after dueOn; absent: it is not sent', optional: true })
  isLate?: boolean;

  @TextField({ description: 'What the dates do not say' })
  caution: string;
}
