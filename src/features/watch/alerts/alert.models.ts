import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { ProjectPath } from '../../../common/api/paths.js';
import { DateRange } from '../../../common/api/ranges.js';
import { IsNotBefore, Names } from '../../../common/api/rules.js';
import { DateField } from '../../../common/api/fields.js';
import { ReasonField } from '../../../common/auth/reason.js';

/** The kinds of `report.alert_kind`. */
export const AlertKind = {
  cover_below: 'cover_below',
  hold_point_passed: 'hold_point_passed',
  thrust_above: 'thrust_above',
  unsupported_above: 'unsupported_above',
  inflow_above: 'inflow_above',
  shift_late: 'shift_late',
  metres_open: 'metres_open',
  minutes_open: 'minutes_open',
  class_decision_open: 'class_decision_open',
} as const;
export type AlertKind = (typeof AlertKind)[keyof typeof AlertKind];

registerEnum(AlertKind, {
  name: 'AlertKind',
  description: 'What an alert is about, and the unit of its threshold; report.alert_kind has the same',
  values: {
    cover_below:
      'The face may go less far than the threshold, as the ground ahead is probed; without a probe requirement, the probed length counts [m]',
    hold_point_passed:
      'The face has passed a hold point of which no release stands; always on, without a rule',
    thrust_above:
      'A boring of the last 24 hours of boring had more thrust per disc than the threshold, in percent of the rated load [%]',
    unsupported_above:
      'Support of a zone is incomplete or not assessed farther behind the face than the limit of the zone; no threshold',
    inflow_above: 'An inflow exceeds a trigger of the water limits, or the pumping capacity; no threshold',
    shift_late: 'A shift of the calendar has not been posted as long after its end [h]',
    metres_open: 'Metres behind the face are without a boring as long after the boring beyond them ended [h]',
    minutes_open: 'Minutes of a shift are without an activity as long after its end [h]',
    class_decision_open: 'A class decision is not agreed as long after it was proposed [d]',
  },
});

export const AlertClearance = { ended: 'ended', rule_off: 'rule_off' } as const;
export type AlertClearance = (typeof AlertClearance)[keyof typeof AlertClearance];

registerEnum(AlertClearance, {
  name: 'AlertClearance',
  description: 'Why an alert was cleared',
  values: {
    ended: 'What it says holds no longer',
    rule_off: 'Its rule was removed, switched off or given to another drive',
  },
});

export const AlertState = { open: 'open', cleared: 'cleared' } as const;
export type AlertState = (typeof AlertState)[keyof typeof AlertState];

registerEnum(AlertState, {
  name: 'AlertState',
  description: 'Whether an alert still holds',
  values: { open: 'It holds', cleared: 'It holds no longer, or its rule is off' },
});

@ArgsType()
export class AlertRulePath extends ProjectPath {
  @CodeField({ description: 'Code of the rule' })
  code: string;
}

@ArgsType()
export class AlertPath extends ProjectPath {
  @IntField({ description: 'Number of the alert', min: 1 })
  number: number;
}

@InputType({ description: 'What the project wants to be warned of.' })
@ObjectType({ isAbstract: true })
export class AlertRuleInput {
  @EnumField({
    description: 'What it is about; a rule that stands keeps its kind',
    values: AlertKind,
    name: 'AlertKind',
  })
  kind: AlertKind;

  @CodeField({
    description: 'The drive that it is for; every drive of the project when absent',
    optional: true,
  })
  drive?: string;

  @DecimalField({
    description:
      'In the unit of the kind: cover_below m, thrust_above %, class_decision_open d, those of late and open records h; absent for unsupported_above and inflow_above, whose limits are in the record',
    max: 999_999,
    optional: true,
  })
  threshold?: string;

  @BooleanField({ description: 'Whether it is on; on when absent', optional: true })
  isOn?: boolean;

  @Names('state the remark')
  @TextField({ description: 'Remark, such as the clause that asks for it', maxLength: 2000, optional: true })
  remark?: string;
}

@ObjectType({ description: 'What the project wants to be warned of.' })
export class AlertRule extends AlertRuleInput {
  @CodeField({ description: 'Code of the rule' })
  code: string;

  @BooleanField({ description: 'Whether it is on' })
  declare isOn: boolean;
}

/** Filter of alerts. */
@ArgsType()
export class AlertFilter extends PageArgs implements DateRange {
  @EnumField({
    description: 'Only those in this state',
    values: AlertState,
    name: 'AlertState',
    optional: true,
  })
  state?: AlertState;

  @EnumField({ description: 'Only those of this kind', values: AlertKind, name: 'AlertKind', optional: true })
  kind?: AlertKind;

  @CodeField({ description: 'Only those of this drive', optional: true })
  drive?: string;

  @DateField({ description: 'Only those raised on this date or later', optional: true })
  from?: string;

  @IsNotBefore('from')
  @DateField({ description: 'Only those raised on this date or before', optional: true })
  to?: string;
}

@InputType({ description: 'An acknowledgement of an alert.' })
export class AlertAcknowledgementInput {
  @ReasonField({ description: 'What is done about it, or why nothing is' })
  reason: string;
}

export const ALERT_CAUTION =
  'Decision support: it shows what the record holds, which may be late or wrong, and decides nothing. No alert does not mean that there is no danger. ' +
  'The responsible person and the local code decide.';

@ObjectType({ description: 'A crossing of a rule: raised once, from report.alert_register.' })
export class Alert {
  @IntField({ description: 'Number in the project: 1, 2, 3 …', min: 1 })
  number: number;

  @CodeField({ description: 'The drive' })
  drive: string;

  @EnumField({ description: 'What it is about', values: AlertKind, name: 'AlertKind' })
  kind: AlertKind;

  @CodeField({
    description: 'Code of the rule; absent: a hold point that was passed, which needs none',
    optional: true,
  })
  rule?: string;

  @TextField({
    description: 'What in the drive it is about: face, zone, shift, place, hole, decision or hold point',
  })
  subject: string;

  @DecimalField({
    description: 'When it was raised, in the unit; absent: not known',
    min: -999_999_999,
    max: 999_999_999_999,
    optional: true,
  })
  value?: string;

  @DecimalField({
    description: 'What it passed, in the unit; absent: there is no figure',
    max: 999_999_999_999,
    optional: true,
  })
  limit?: string;

  @TextField({ description: 'Unit of both', optional: true })
  unit?: string;

  @TextField({ description: 'Text of the alert when it was raised' })
  text: string;

  @InstantField({ description: 'When it was raised' })
  raisedAt: string;

  @TextField({ description: 'Who made the change that raised it; drivebook: the clock' })
  raisedBy: string;

  @EnumField({ description: 'Whether it is still open', values: AlertState, name: 'AlertState' })
  state: AlertState;

  @InstantField({ description: 'When it was acknowledged; absent: not', optional: true })
  acknowledgedAt?: string;

  @TextField({ description: 'Who acknowledged it', optional: true })
  acknowledgedBy?: string;

  @TextField({ description: 'The reason given', optional: true })
  acknowledgement?: string;

  @InstantField({ description: 'When it was cleared; absent: it is open', optional: true })
  clearedAt?: string;

  @TextField({ description: 'Who made the change that cleared it; drivebook: the clock', optional: true })
  clearedBy?: string;

  @EnumField({
    description: 'Why it was cleared',
    values: AlertClearance,
    name: 'AlertClearance',
    optional: true,
  })
  clearance?: AlertClearance;

  @TextField({ description: 'What it does not say' })
  caution: string;
}

@ObjectType({ description: 'An alert as a change left it: raised, acknowledged or cleared.' })
export class AlertNews extends Alert {
  @IntField({ description: 'Number of the change in the history of the project' })
  change: number;
}

@ObjectType({ description: 'A page of alerts, by number.' })
export class AlertPage {
  @ListField(() => Alert, { description: 'The alerts', max: 1000 })
  items: Alert[];

  @IntField({ description: 'Value of `after` for the next page; absent on the last page', optional: true })
  next?: number;
}
