import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import { ShiftState } from '../../../generated/prisma/enums.js';
import '../shift-state/shift-state.js';

export enum DoubtCode {
  ahead_of_face = 'ahead_of_face',
  stroke_longer_than_machine = 'stroke_longer_than_machine',
  thrust_above_rating = 'thrust_above_rating',
  thrust_too_low = 'thrust_too_low',
  torque_above_rating = 'torque_above_rating',
  torque_too_low = 'torque_too_low',
  rate_too_high = 'rate_too_high',
  rate_too_low = 'rate_too_low',
  quantity_too_high = 'quantity_too_high',
}

registerEnum(DoubtCode, {
  name: 'DoubtCode',
  description:
    'Why an entry is implausible by the limits in force: ahead of the face, beyond what the machine can do, more than a metre takes.',
  values: {
    ahead_of_face: 'Lies farther ahead of the face than the limit',
    quantity_too_high: 'More per metre of drive than the limit',
    rate_too_high: 'Penetration rate above the limit',
    rate_too_low: 'Penetration rate below the limit',
    stroke_longer_than_machine: 'Longer than a stroke of the machine can be',
    thrust_above_rating: 'Thrust above the machine’s rating and its margin',
    thrust_too_low: 'Thrust below what boring needs',
    torque_above_rating: 'Torque above the machine’s rating and its margin',
    torque_too_low: 'Torque below what boring needs',
  },
});

export const DoubtedRecord = {
  stroke: 'stroke',
  support: 'support',
  ground: 'ground',
  ground_log: 'ground_log',
  overbreak: 'overbreak',
} as const;
export type DoubtedRecord = (typeof DoubtedRecord)[keyof typeof DoubtedRecord];

registerEnum(DoubtedRecord, {
  name: 'DoubtedRecord',
  description: 'Kind of record that is doubted.',
  values: {
    ground: 'Note of the ground',
    ground_log: 'Ground log',
    overbreak: 'Overbreak',
    stroke: 'Boring of a stroke',
    support: 'Line of support',
  },
});

@ObjectType({
  description:
    'An implausible entry of the record, from report.record_doubt, as the record is now: a doubt caused by metres not yet posted clears when they are posted.',
})
export class RecordDoubt {
  @EnumField({ description: 'The doubt', values: DoubtCode, name: 'DoubtCode' })
  doubt: DoubtCode;

  @TextField({ description: 'The doubt in words, with its figures' })
  detail: string;

  @EnumField({ description: 'What is doubted', values: DoubtedRecord, name: 'DoubtedRecord' })
  record: DoubtedRecord;

  @TextField({
    description: 'Number of the stroke, code of the support item or ground class, name of the log or item',
  })
  name: string;

  @IntField({ description: 'Line of the support list of the shift, from 1', optional: true })
  line?: number;

  @ChainageField({ description: 'Where it begins' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'The figure of the record, in the unit' })
  measured: string;

  @DecimalField({ description: 'Limit that was exceeded or not reached, in the unit' })
  limit: string;

  @TextField({ description: 'Unit of both' })
  unit: string;

  @DateField({ description: 'Date of the shift; absent: not of a shift', optional: true })
  date?: string;

  @CodeField({ description: 'Name of the shift', optional: true })
  shift?: string;

  @EnumField({ description: 'State of the shift', values: ShiftState, name: 'ShiftState', optional: true })
  state?: ShiftState;

  @TextField({ description: 'Why the figure is correct nevertheless; absent: not confirmed', optional: true })
  reason?: string;

  @TextField({ description: 'Who confirmed it, with the current version of the shift', optional: true })
  confirmedBy?: string;

  @InstantField({ description: 'When', optional: true })
  confirmedAt?: string;
}
