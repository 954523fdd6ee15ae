import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ArrayMinSize, Matches } from 'class-validator';
import {
  BooleanField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { Outcome } from '../../../common/api/outcome.js';
import { DrivePath } from '../../../common/api/paths.js';
import { PayItemKind } from '../../../generated/prisma/enums.js';
import { MOST_ITEMS } from './bill-limits.js';

registerEnum(PayItemKind, {
  name: 'PayItemKind',
  description: 'How an item is measured: by quantity, as a lump sum by its progress, by the time it lasts.',
  values: {
    quantity: 'Paid by measured quantity',
    lump: 'A lump sum, paid by its progress',
    time: 'Paid by the time that it lasts',
  },
});

/** Whole digits of a rate and of a quantity: twelve. */
const LARGEST = 999_999_999_999;

const VERSION = 'Name of the version, as A or 2';

/** Name in a drive. */
@ArgsType()
export class BillPath extends DrivePath {
  @CodeField({ description: VERSION })
  version: string;
}

/** Name, where the drive is known. */
@ArgsType()
export class BillArgs {
  @CodeField({ description: VERSION })
  version: string;
}

@ArgsType()
export class PutBill extends BillPath {
  @TextField({ description: 'Entity tag of the bill to replace', optional: true })
  ifMatch?: string;

  @BooleanField({ description: 'Create only: refuse when the version exists', optional: true })
  createOnly?: boolean;
}

@ArgsType()
export class RemovedBill extends BillPath {
  @TextField({ description: 'Entity tag of the bill to remove' })
  ifMatch: string;
}

@ObjectType({ isAbstract: true })
@InputType({ description: 'An item of the bill of quantities.' })
export class PayItemInput {
  @CodeField({
    description: 'Reference of the item in the contract, such as BOLT-1; a later version keeps an item by it',
  })
  reference: string;

  @CodeField({ description: 'Code of its group', optional: true })
  groupCode?: string;

  @TextField({ description: 'Title of its group; a group has one', maxLength: 200, optional: true })
  groupTitle?: string;

  @TextField({ description: 'What is paid', maxLength: 2000 })
  description: string;

  @TextField({
    description: 'Unit of the quantity, as the contract writes it: m3, m2, m, nr, t, h, week, sum',
    maxLength: 20,
  })
  unit: string;

  @EnumField({
    description: 'How it is measured; quantity when absent',
    values: PayItemKind,
    name: 'PayItemKind',
    optional: true,
  })
  kind?: PayItemKind;

  @IntField({ description: 'Number of decimals to which a measured quantity is rounded', max: 6 })
  decimals: number;

  @DecimalField({
    description:
      'Quantity of the bill, with no more than its decimals; 0 when absent: only the rate is agreed [unit]',
    min: -LARGEST, // negative values are reported by a rule of their own
    max: LARGEST,
    decimals: 6,
    optional: true,
  })
  quantity?: string;

  @DecimalField({
    description: 'Price of one unit, not below 0 [currency/unit]',
    min: -LARGEST,
    max: LARGEST,
    decimals: 6,
  })
  rate: string;
}

@ObjectType({ description: 'An item of a bill, from report.bill_item.' })
export class PayItem extends PayItemInput {
  @DecimalField({
    description:
      'Quantity × rate, rounded once to the minor units of the currency, half away from zero [currency]',
  })
  amount: string;
}

@InputType({ description: 'A version of the bill of quantities with all its items.' })
export class BillInput {
  @DateField({
    description:
      'First day on which it counts; on any day the version that began last counts. At most one begins per day',
  })
  validFrom: string;

  @TextField({
    description: 'Currency of its rates, ISO 4217; the project’s when absent',
    maxLength: 3,
    optional: true,
  })
  @Matches(/^[A-Z]{3}$/, { message: '$property must be an ISO 4217 code such as EUR' })
  currency?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;

  @ArrayMinSize(1, { message: 'a bill must have at least one item' })
  @ListField(() => PayItemInput, { description: 'Its items, in their order', max: MOST_ITEMS })
  items: PayItemInput[];
}

@ObjectType({ description: 'A version of the drive’s bill, from report.bill_version.' })
export class BillSummary {
  @CodeField({ description: VERSION })
  version: string;

  @DateField({ description: 'First day on which it counts' })
  validFrom: string;

  @DateField({
    description: 'Last day on which it counts; absent when no other version follows',
    optional: true,
  })
  validUntil?: string;

  @TextField({ description: 'Currency of its rates, ISO 4217', maxLength: 3 })
  currency: string;

  @IntField({ description: 'Decimals of an amount in that currency' })
  minorUnits: number;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;

  @InstantField({
    description: 'Since when certified valuations use it: it can no longer be changed or removed',
    optional: true,
  })
  lockedAt?: string;

  @IntField({ description: 'Number of its items' })
  itemCount: number;

  @DecimalField({ description: 'Sum of the amounts of its items [currency]' })
  amount: string;
}

@ObjectType({ description: 'The items of a group together, from report.bill_total.' })
export class BillGroup {
  @CodeField({ description: 'Code of the group; absent for the items without one', optional: true })
  groupCode?: string;

  @TextField({ description: 'Its title', optional: true })
  groupTitle?: string;

  @IntField({ description: 'Number of its items' })
  itemCount: number;

  @DecimalField({ description: 'Sum of the amounts of its items [currency]' })
  amount: string;
}

@ObjectType({ description: 'A version of the drive’s bill with its items.' })
export class Bill extends BillSummary {
  @ListField(() => PayItem, { description: 'Its items, in their order', max: MOST_ITEMS })
  items: PayItem[];

  @ListField(() => BillGroup, { description: 'Its groups, in the order of their first items' })
  groups: BillGroup[];

  @TextField({ description: 'Its entity tag' })
  etag: string;
}

@ObjectType({ description: 'Result of putting a bill.' })
export class BillReceipt {
  @EnumField({ description: 'What the write did', values: Outcome, name: 'Outcome' })
  outcome: Outcome;

  @ObjectField(() => Bill, { description: 'The current bill' })
  bill: Bill;
}
