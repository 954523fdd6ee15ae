import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  ObjectField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';
import { ContestedClass } from '../../ground/classes/contested-class.model.js';
import { Signatures, SignedFor } from '../../site/parties/signed-for.model.js';
import { OfPayItem, PayItemLine } from '../bills/pay-item-line.model.js';
import { MeasureSource, ValuationState } from '../../../generated/prisma/enums.js';

registerEnum(ValuationState, {
  name: 'ValuationState',
  description:
    'draft: computed; agreed: signed by one person; certified: signed by another person, and fixed.',
  values: {
    draft: 'Computed from the record',
    agreed: 'Signed by one person',
    certified: 'Signed by another person: it is fixed',
  },
});

@ArgsType()
export class ValuationPath extends DrivePath {
  @IntField({ description: 'Number of the valuation: 1, 2, 3 … on a drive', min: 1 })
  number: number;
}

@ArgsType()
export class ValuationArgs {
  @IntField({ description: 'Number of the valuation', min: 1 })
  number: number;
}

@InputType({ description: 'Cut-off of a valuation.' })
export class ValuationInput {
  @DateField({ description: 'Countersigned shifts until this date count' })
  cutOff: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@ObjectType({
  description:
    'A valuation. A draft is computed from the record as it stands; once agreed by one person and certified by another it is fixed, and corrections go into the next one.',
})
export class ValuationHead {
  @IntField({ description: 'Number: 1, 2, 3 … on a drive' })
  number: number;

  @EnumField({ description: 'State', values: ValuationState, name: 'ValuationState' })
  state: ValuationState;

  @DateField({ description: 'Countersigned shifts until this date count' })
  cutOff: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;

  @TextField({ description: 'Currency of the bill (ISO 4217); absent without a bill', optional: true })
  currency?: string;

  @DecimalField({ description: 'Sum of the certified amounts before [currency]', decimals: 4 })
  previousAmount: string;

  @DecimalField({ description: 'Sum of the amounts of this period [currency]', decimals: 4 })
  amount: string;

  @DecimalField({ description: 'Sum of the amounts to date [currency]', decimals: 4 })
  toDateAmount: string;

  @IntField({
    description: 'Lines with a quantity that is held apart: disputed, or of a class that is contested',
  })
  heldCount: number;

  @IntField({
    description:
      'Shifts until the cut-off that are neither countersigned nor paid as deemed accepted: they do not count, and it cannot be certified; absent when certified',
    optional: true,
  })
  openShiftCount?: number;

  @IntField({
    description:
      'How many of those are deemed accepted, which is not a signature: they do not count either; absent once certified',
    optional: true,
  })
  deemedShiftCount?: number;

  @TextListField({
    description:
      'Probe holes whose time of drilling is not noted: they are in no period and pay nothing; absent once certified',
    optional: true,
  })
  probeHolesWithoutTime?: string[];

  @TextField({ description: 'Who prepared it' })
  preparedBy: string;

  @InstantField({ description: 'When' })
  preparedAt: string;

  @TextField({ description: 'Who agreed to it', optional: true })
  agreedBy?: string;

  @InstantField({ description: 'When', optional: true })
  agreedAt?: string;

  @TextField({ description: 'Who certified it, another person', optional: true })
  certifiedBy?: string;

  @InstantField({ description: 'When', optional: true })
  certifiedAt?: string;

  @IntField({
    description: 'Number of the change after which the record stood when it was certified',
    optional: true,
  })
  measuredChange?: number;

  @TextField({ description: 'SHA-256 over its lines as they are: what is signed', optional: true })
  seal?: string;

  @BooleanField({
    description: 'Whether the lines are no longer those that were agreed: it must be agreed again',
  })
  changedSinceAgreed: boolean;

  @ObjectField(() => SignedFor, { description: 'For which party it was prepared', optional: true })
  preparedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'For which party it was agreed', optional: true })
  agreedFor?: SignedFor;

  @ObjectField(() => SignedFor, { description: 'For which party it was certified', optional: true })
  certifiedFor?: SignedFor;

  @EnumField({
    description:
      'Whether both sides of the contract signed: agreed and certified; absent until it is certified',
    values: Signatures,
    name: 'Signatures',
    optional: true,
  })
  signatures?: Signatures;
}

@ObjectType({ description: 'A line of a valuation, from report.valuation_line.' })
export class ValuationLine extends PayItemLine {
  @DecimalField({ description: 'Rate [currency per unit]', decimals: 6 })
  rate: string;

  @DecimalField({ description: 'Certified before [unit]', decimals: 6 })
  previousQuantity: string;

  @DecimalField({
    description: 'This period: to date less certified before; negative where the record was corrected [unit]',
    decimals: 6,
  })
  quantity: string;

  @DecimalField({ description: 'To date, rounded once to the item’s decimals [unit]', decimals: 6 })
  toDateQuantity: string;

  @TextListField({
    description:
      'References of the lines, this one among them, that divide the same records by ground and are rounded together, so that they sum to their rounded whole; absent: rounded on its own',
    optional: true,
  })
  roundedWith?: string[];

  @TextListField({
    description:
      'Shifts, as date/name, whose records changed it and that are deemed accepted, not countersigned, under a rule by which that pays; absent: none',
    optional: true,
    max: 10_000,
  })
  deemedShifts?: string[];

  @DecimalField({ description: 'Certified before [currency]', decimals: 4 })
  previousAmount: string;

  @DecimalField({ description: 'This period [currency]', decimals: 4 })
  amount: string;

  @DecimalField({
    description: 'To date: quantity by rate, rounded once to the currency [currency]',
    decimals: 4,
  })
  toDateAmount: string;

  @IntField({ description: 'Records that changed the line since the valuation before' })
  sourceCount: number;

  @IntField({
    description: 'Records of the item that lack an input of its rule; absent when certified',
    optional: true,
  })
  incompleteCount?: number;

  @TextField({ description: 'SHA-256 over its source records' })
  digest: string;

  @TextField({
    description:
      'Basis of the class of the records that changed it: agreed, noted, or both; absent: none has a class',
    optional: true,
  })
  basis?: string;

  @ListField(() => ContestedClass, {
    description: 'Where the rule asks for classes: those that stand over its records and do not rule',
    optional: true,
  })
  contested?: ContestedClass[];
}

@ObjectType({ description: 'A valuation with its lines, in the order of the bill.' })
export class Valuation extends ValuationHead {
  @ListField(() => ValuationLine, { description: 'Its lines' })
  lines: ValuationLine[];
}

/** An item, where the drive is known. */
@ArgsType()
export class LineArgs extends PageArgs {
  @IntField({ description: 'Number of the valuation', min: 1 })
  number: number;

  @CodeField({ description: 'Reference of the item' })
  reference: string;
}

@ObjectType({
  description:
    'What a record contributes to a line, from report.valuation_line_source. Quantities are in base units: nr, m, m2, m3, kg, s.',
})
export class LineSource {
  @IntField({ description: 'Its place in the list' })
  ordinal: number;

  @CodeField({ description: 'Version of the bill' })
  version: string;

  @EnumField({ description: 'Part of the record', values: MeasureSource, name: 'MeasureSource' })
  source: MeasureSource;

  @TextField({ description: 'Key of the record: shift, list and place in it; or the hole, or the limit' })
  sourceKey: string;

  @TextField({
    description:
      'measured: new; corrected or removed: certified before and different now; limited: by a limit per metre; held: disputed, or counted here only by a class that is not agreed, and nothing of it counts; incomplete: lacks an input of the rule; contested: certified before and unchanged, its class is contested',
  })
  effect: string;

  @TextField({ description: 'Ground class in which this part of it lies', optional: true })
  groundClass?: string;

  @DateField({ description: 'Date of its shift', optional: true })
  shiftDate?: string;

  @TextField({ description: 'Name of its shift', optional: true })
  shiftName?: string;

  @ChainageField({ description: 'From', optional: true })
  fromChainage?: string;

  @ChainageField({ description: 'To', optional: true })
  toChainage?: string;

  @DecimalField({ description: 'Certified of it before [base unit]', decimals: 9 })
  previousQuantity: string;

  @DecimalField({ description: 'What it now adds, or deducts [base unit]', decimals: 9 })
  quantity: string;

  @DecimalField({ description: 'To date [base unit]', decimals: 9 })
  toDateQuantity: string;

  @DecimalField({ description: 'Held apart [base unit]', decimals: 9 })
  heldQuantity: string;

  @TextField({
    description: 'Basis of its ground class: agreed, noted, or both; absent: no class',
    optional: true,
  })
  basis?: string;

  @ListField(() => ContestedClass, {
    description: 'Where the rule asks for classes: those that stand there and do not rule',
  })
  contested: ContestedClass[];
}

@ObjectType({ description: 'A page of the records behind a line.' })
export class LineSourcePage {
  @ListField(() => LineSource, { description: 'The records, by their key' })
  items: LineSource[];

  @IntField({
    description: 'Where the next page starts: give it as after; absent at the end',
    optional: true,
  })
  next?: number;
}

@ObjectType({
  description:
    'What of a line lies in one ground class to date, rounded so that the rows of an item sum to its line; held quantities are apart, and sum to what the line holds.',
})
export class ClassQuantity extends OfPayItem {
  @TextField({ description: 'Unit' })
  unit: string;

  @TextField({
    description: 'Governing ground class; absent: none, a record without a place, or a limit per metre',
    optional: true,
  })
  groundClass?: string;

  @DecimalField({ description: 'Quantity to date [unit]', decimals: 9 })
  quantity: string;

  @DecimalField({ description: 'Held apart [unit]', decimals: 9 })
  heldQuantity: string;
}

@ObjectType({
  description:
    'What of a line lies in one interval of chainage to date, rounded so that the rows of an item sum to its line; held quantities are apart, and sum to what the line holds.',
})
export class IntervalQuantity extends OfPayItem {
  @TextField({ description: 'Unit' })
  unit: string;

  @ChainageField({
    description: 'From; absent: records without a place, or a limit per metre',
    optional: true,
  })
  fromChainage?: string;

  @ChainageField({ description: 'To', optional: true })
  toChainage?: string;

  @DecimalField({ description: 'Quantity to date [unit]', decimals: 9 })
  quantity: string;

  @DecimalField({ description: 'Held apart [unit]', decimals: 9 })
  heldQuantity: string;
}

const INTERVAL = 'Length of the intervals, on round chainages [m]';

@ArgsType()
export class IntervalQuery {
  @DecimalField({ description: INTERVAL, min: 1, max: 10_000 })
  lengthM: string;
}

@ArgsType()
export class IntervalArgs extends ValuationArgs {
  @DecimalField({ description: INTERVAL, min: 1, max: 10_000 })
  lengthM: string;
}

@ObjectType({ description: 'A line whose certified figures differ from those of the record as it stood.' })
export class LineDifference extends OfPayItem {
  @TextField({ description: 'Which of its values' })
  field: string;

  @TextField({ description: 'As certified', optional: true })
  certified?: string;

  @TextField({ description: 'As measured again', optional: true })
  measured?: string;
}

@ObjectType({ description: 'A certified valuation measured again from the record as it stood.' })
export class ValuationVerification {
  @IntField({ description: 'Number of the valuation' })
  number: number;

  @IntField({ description: 'Number of the change after which the record stood' })
  measuredChange: number;

  @BooleanField({ description: 'Whether every line and every source record is what was certified' })
  equal: boolean;

  @IntField({ description: 'Lines compared' })
  lineCount: number;

  @ListField(() => LineDifference, { description: 'Where not' })
  differences: LineDifference[];
}
