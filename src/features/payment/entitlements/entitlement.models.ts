import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { CodeField, DecimalField, EnumField, ListField, TextField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { EntitlementRule, EntitlementSource } from '../../../generated/prisma/enums.js';

registerEnum(EntitlementRule, {
  name: 'EntitlementRule',
  description:
    'difference: tendered weeks + difference in hours / hours a week. proportional: tendered weeks × actual hours / tendered hours. They give different answers: the contract decides which applies.',
  values: {
    difference: 'Tendered weeks + difference in hours / hours a week',
    proportional: 'Tendered weeks × actual hours / tendered hours',
  },
});

registerEnum(EntitlementSource, {
  name: 'EntitlementSource',
  description:
    'Where the actual quantity comes from. support_item: installed total of the item. probe_metres: drilled metres of the probe holes. activity_hours: hours under the activity code. class_metres: driven metres of the governing class. Of each only what countersigned shifts hold.',
  values: {
    support_item: 'Installed total of a support item',
    probe_metres: 'Drilled metres of the probe holes [m]',
    activity_hours: 'Hours under an activity code [h]',
    class_metres: 'Driven metres of a governing class [m]',
  },
});

const NAME = 'Name of the basis; another version has another name';

/** Name in a drive. */
@ArgsType()
export class EntitlementPath extends DrivePath {
  @CodeField({ description: NAME })
  entitlement: string;
}

/** Name, where the drive is known. */
@ArgsType()
export class EntitlementArgs {
  @CodeField({ description: NAME })
  entitlement: string;
}

@InputType('EntitlementItemInput', {
  description: 'An item of equivalent time. Its unit is that of what the source counts.',
})
@ObjectType({ description: 'An item of equivalent time. Its unit is that of what the source counts.' })
export class EntitlementItem {
  @CodeField({ description: 'Code of the item' })
  code: string;

  @EnumField({
    description: 'Where the actual quantity comes from',
    values: EntitlementSource,
    name: 'EntitlementSource',
  })
  source: EntitlementSource;

  @CodeField({
    description:
      'Code of the support item, activity code or ground class that is counted; none for probe_metres',
    optional: true,
  })
  reference?: string;

  @DecimalField({
    description: 'Equivalent time of one unit, by the contract [h]',
    min: 0.000001,
    max: 99_999,
    decimals: 6,
  })
  hoursPerUnit: string;

  @DecimalField({ description: 'Quantity tendered for the whole drive, in the unit of the source' })
  tenderedQuantity: string;
}

@InputType({ description: 'A basis of time entitlement, as in the contract.' })
@ObjectType({ isAbstract: true })
export class EntitlementInput {
  @EnumField({ description: 'Rule of the contract', values: EntitlementRule, name: 'EntitlementRule' })
  rule: EntitlementRule;

  @CodeField({
    description: 'Baseline whose advance rates give the time by ground class; absent: items only',
    optional: true,
  })
  baseline?: string;

  @DecimalField({ description: 'Tendered time [weeks]', min: 0.0001, max: 9999, decimals: 4 })
  tenderedWeeks: string;

  @DecimalField({ description: 'Working hours a week [h]', min: 0.01, max: 168, decimals: 2 })
  workingHoursPerWeek: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;

  @ListField(() => EntitlementItem, {
    description: 'Items of equivalent time; none where the baseline gives all',
    max: 200,
  })
  items: EntitlementItem[];
}

@ObjectType({
  description:
    'A basis of time entitlement: the rule of the contract, its tendered time and what is counted.',
})
export class Entitlement extends EntitlementInput {
  @CodeField({ description: NAME })
  entitlement: string;
}
