import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { ArrayMinSize } from 'class-validator';
import { applyDecorators } from '@nestjs/common';
import {
  ChoicesField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  type FieldOptions,
  IntField,
  ListField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { IsUnique } from '../../../common/api/rules.js';
import { OfPayItem } from '../bills/pay-item-line.model.js';
import {
  GroutingPurpose,
  MeasureDimension,
  MeasureSource,
  ProbeMethod,
  ResponsibleParty,
  SupportKind,
  TimeClass,
} from '../../../generated/prisma/enums.js';

registerEnum(MeasureSource, {
  name: 'MeasureSource',
  description: 'From which part of the record a pay item is measured.',
  values: {
    advance: 'Bored metres',
    grouting: 'Holes of grouting rounds and the mixes that they took',
    lump: 'Progress of a lump sum',
    probing: 'Probe holes',
    support: 'Installed support',
    time: 'Booked time',
  },
});
registerEnum(MeasureDimension, {
  name: 'MeasureDimension',
  description: 'What of it is counted.',
  values: {
    area: 'Area [m²]',
    count: 'Pieces',
    hours: 'Hours [h]',
    length: 'Length [m]',
    mass: 'Mass [kg or t, by the unit of the pay item]',
    percent: 'Share done [%]',
    volume: 'Volume [m³]',
  },
});

const UnmeasuredReason = {
  no_rule: 'no_rule',
  no_countersigned_shift: 'no_countersigned_shift',
} as const;
type UnmeasuredReason = keyof typeof UnmeasuredReason;
registerEnum(UnmeasuredReason, {
  name: 'UnmeasuredReason',
  description:
    'Why a record pays nothing: no rule measures it, or it is a hole drilled or grouted in no countersigned shift.',
  values: {
    no_rule: 'No measurement rule measures it',
    no_countersigned_shift: 'A probe hole drilled, or a hole grouted, in no countersigned shift',
  },
});

/** A filter by names; left out, it excludes nothing. */
const NamesField = (options: Omit<FieldOptions, 'optional'>): PropertyDecorator =>
  applyDecorators(
    TextListField({ ...options, optional: true, maxLength: 100 }),
    ArrayMinSize(1, { message: 'omit $property, or name at least one' }),
    IsUnique({ message: '$property must not repeat a value' }),
  );

const SomeField = (
  values: Record<string, string>,
  name: string,
  options: Omit<FieldOptions, 'optional'>,
): PropertyDecorator =>
  applyDecorators(
    ChoicesField({ ...options, optional: true, values: Object.values(values), name, graphql: values }),
    ArrayMinSize(1, { message: 'omit $property, or name at least one' }),
  );

/** An item of a version of the bill. */
@ArgsType()
export class PayItemPath extends DrivePath {
  @CodeField({ description: 'Version of the bill' })
  version: string;

  @CodeField({ description: 'Reference of the item' })
  reference: string;
}

@ArgsType()
export class UntilArgs {
  @DateField({ description: 'Countersigned shifts until this date count' })
  until: string;
}

@InputType({ description: 'Which records a pay item is measured from.' })
@ObjectType({ isAbstract: true })
export class MeasurementRuleInput {
  @EnumField({ description: 'From what it is measured', values: MeasureSource, name: 'MeasureSource' })
  source: MeasureSource;

  @EnumField({
    description:
      'What is counted: length, area or volume of advance; count, length, area, volume or mass of support; count or length of probing; count, length, hours, mass or volume of grouting; hours of time; percent of a lump sum',
    values: MeasureDimension,
    name: 'MeasureDimension',
  })
  dimension: MeasureDimension;

  @NamesField({ description: 'Support: codes of the support items; all when absent' })
  items?: string[];

  @SomeField(SupportKind, 'SupportKind', { description: 'Support: kinds of support item; all when absent' })
  kinds?: SupportKind[];

  @NamesField({ description: 'Support: codes of the zones in which it was installed; all when absent' })
  zones?: string[];

  @NamesField({
    description:
      'Advance, support, probing, grouting: codes of the ground classes. The governing class is paid; what a class decision that is not agreed would add is held apart',
  })
  classes?: string[];

  @NamesField({ description: 'Advance, support, probing, grouting: lithologies as the shifts noted them' })
  lithologies?: string[];

  @NamesField({ description: 'Time: activity codes; all when absent' })
  activities?: string[];

  @SomeField(TimeClass, 'TimeClass', { description: 'Time: what it counts as; all when absent' })
  timeClasses?: TimeClass[];

  @SomeField(ResponsibleParty, 'ResponsibleParty', {
    description: 'Time: responsible parties; all when absent',
  })
  parties?: ResponsibleParty[];

  @SomeField(ProbeMethod, 'ProbeMethod', {
    description:
      'Probing: how the holes were drilled; all when absent. A hole without a recorded method matches none',
  })
  methods?: ProbeMethod[];

  @SomeField(GroutingPurpose, 'GroutingPurpose', {
    description: 'Grouting: purposes of the rounds; all when absent',
  })
  purposes?: GroutingPurpose[];

  @NamesField({
    description: 'Mass and volume of grouting: materials as the mixes name them; all when absent',
  })
  materials?: string[];

  @DecimalField({
    description:
      'Diameter of the theoretical pay line: of advance instead of the bored diameter; of support, area and volume then follow from arc and length [m]',
    min: 0.001,
    max: 999,
    optional: true,
  })
  payDiameterM?: string;

  @DecimalField({
    description: 'Added to every quantity, such as a lap; none when absent [%]',
    min: -99.999,
    max: 1000,
    optional: true,
  })
  allowancePercent?: string;

  @DecimalField({
    description: 'Least quantity to date per metre bored in the rule’s ground [unit of the item per m]',
    max: 99_999,
    decimals: 6,
    optional: true,
  })
  minPerM?: string;

  @DecimalField({
    description: 'Greatest quantity to date per metre bored in the rule’s ground [unit of the item per m]',
    max: 99_999,
    decimals: 6,
    optional: true,
  })
  maxPerM?: string;
}

@ObjectType({ description: 'How a pay item is measured: data, and the same in a sentence.' })
export class MeasurementRule extends MeasurementRuleInput {
  @CodeField({ description: 'Version of the bill' })
  version: string;

  @CodeField({ description: 'Reference of the item' })
  reference: string;

  @TextField({ description: 'Description of the item' })
  description: string;

  @TextField({ description: 'Unit of the item' })
  unit: string;

  @TextField({ description: 'The rule in words', maxLength: 5000 })
  sentence: string;
}

@ObjectType({ description: 'What a rule measures until a date.' })
export class RuleCatch extends OfPayItem {
  @IntField({ description: 'Records that it measures' })
  recordCount: number;

  @DecimalField({
    description: 'Their quantity, before limits and the rounding of the line [unit of the item]',
    decimals: 6,
  })
  quantity: string;

  @DecimalField({ description: 'Of this, disputed and held apart [unit of the item]', decimals: 6 })
  heldQuantity: string;

  @TextField({ description: 'Unit of the item' })
  unit: string;

  @IntField({
    description: 'Records that lack an input of the rule, such as a thickness: they count as nothing',
  })
  incompleteCount: number;
}

@ObjectType({
  description:
    'Records that pay nothing: of countersigned shifts, and measured by no rule; or probe holes drilled, and holes grouted, in no countersigned shift.',
})
export class Unmeasured {
  @EnumField({ description: 'Part of the record', values: MeasureSource, name: 'MeasureSource' })
  source: MeasureSource;

  @TextField({ description: 'Support item or activity code; of grouting, hole or mix', optional: true })
  code?: string;

  @IntField({ description: 'How many' })
  recordCount: number;

  @TextField({ description: 'Key of the first' })
  firstKey: string;

  @TextField({ description: 'Key of the last' })
  lastKey: string;

  @EnumField({ description: 'Why they pay nothing', values: UnmeasuredReason, name: 'UnmeasuredReason' })
  reason: UnmeasuredReason;
}

@ObjectType({
  description:
    'Two items whose rules measure the same records: often meant, as where supply and installation are separate items.',
})
export class MeasuredTwice extends OfPayItem {
  @CodeField({ description: 'Reference of the other' })
  otherReference: string;

  @IntField({ description: 'Records that both measure' })
  recordCount: number;

  @TextField({ description: 'Key of the first' })
  firstKey: string;
}

@ObjectType({
  description:
    'Items that divide the same records and are rounded together though they have different decimals: all of them to the step of the coarsest.',
})
export class MixedDecimals {
  @CodeField({ description: 'Version of the bill' })
  version: string;

  @TextListField({ description: 'Their references, in the order of the bill' })
  references: string[];

  @DecimalField({ description: 'The step that all of them are rounded to [nr, m, m2, m3, kg]' })
  step: string;
}

@ObjectType({
  description:
    'What the rules of a drive’s bills measure until a date, with unmeasured and doubly measured records.',
})
export class MeasurementCheck {
  @ListField(() => RuleCatch, { description: 'By rule' })
  rules: RuleCatch[];

  @ListField(() => Unmeasured, { description: 'What pays nothing, and why' })
  unmeasured: Unmeasured[];

  @ListField(() => MeasuredTwice, { description: 'What two rules measure' })
  twice: MeasuredTwice[];

  @ListField(() => MixedDecimals, { description: 'What is rounded together with different decimals' })
  mixedDecimals: MixedDecimals[];
}
