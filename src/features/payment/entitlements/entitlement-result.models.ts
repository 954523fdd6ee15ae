import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { EntitlementRule, EntitlementSource } from '../../../generated/prisma/enums.js';
import { EntitlementArgs } from './entitlement.models.js';

export const EntitlementLineKind = { class: 'class', item: 'item' } as const;
export type EntitlementLineKind = (typeof EntitlementLineKind)[keyof typeof EntitlementLineKind];

registerEnum(EntitlementLineKind, {
  name: 'EntitlementLineKind',
  description: 'class: metres of a ground class at the baseline’s rate. item: quantity times hours per unit.',
  values: { class: 'Metres of a ground class at the baseline’s rate', item: 'Quantity times hours per unit' },
});

export const EntitlementHorizon = { to_date: 'to_date', at_completion: 'at_completion' } as const;
export type EntitlementHorizon = (typeof EntitlementHorizon)[keyof typeof EntitlementHorizon];

registerEnum(EntitlementHorizon, {
  name: 'EntitlementHorizon',
  description:
    'Over what tendered and actual are compared, of classes and items alike. to_date: the length that countersigned shifts have bored. at_completion: the whole drive, with what is not yet countersigned as tendered.',
  values: {
    to_date: 'The length that countersigned shifts have bored',
    at_completion: 'The whole drive; with what is not yet countersigned as tendered',
  },
});

const TenderedToDateBy = {
  baseline: 'baseline',
  baseline_share: 'baseline_share',
  driven_share: 'driven_share',
} as const;
type TenderedToDateBy = keyof typeof TenderedToDateBy;

registerEnum(TenderedToDateBy, {
  name: 'TenderedToDateBy',
  description:
    'How the tendered quantity to date is found. baseline: the baseline’s metres on the counted length. baseline_share: tendered × the baseline’s metres of the class on the counted length / on the drive. driven_share: tendered × counted length / length of the drive, as the item has no distribution along it.',
  values: {
    baseline: 'The baseline’s metres on the counted length',
    baseline_share: 'Tendered × the baseline’s metres of the class on the counted length / on the drive',
    driven_share: 'Tendered × counted length / length of the drive',
  },
});

const HorizonField = (optional: boolean): PropertyDecorator =>
  EnumField({
    description: `Over what tendered and actual are compared${optional ? '; to_date when absent' : ''}`,
    values: EntitlementHorizon,
    name: 'EntitlementHorizon',
    optional,
  });

/** The range for the entitlement of a basis. */
@ArgsType()
export class HorizonQuery {
  @HorizonField(true)
  horizon?: EntitlementHorizon;
}

@ArgsType()
export class EntitlementResultArgs extends EntitlementArgs {
  @HorizonField(true)
  horizon?: EntitlementHorizon;
}

export const ENTITLEMENT_CAUTION =
  'Decision support: arithmetic on what countersigned shifts hold now, by the governing class with its basis, and on the rule that was entered. ' +
  'The quantity of an item tendered to date is a share by metres. It says nothing of the critical path, of thresholds or of notices: the contract and its time-bar rules prevail.';

@ObjectType({
  description: 'A line of a time entitlement, from report.entitlement_line; figures rounded to be shown.',
})
export class EntitlementLine {
  @IntField({ description: 'Its place: classes, then items' })
  line: number;

  @EnumField({ description: 'What it is of', values: EntitlementLineKind, name: 'EntitlementLineKind' })
  kind: EntitlementLineKind;

  @CodeField({ description: 'Ground class, or code of the item' })
  code: string;

  @EnumField({
    description: 'Where the actual quantity of an item comes from',
    values: EntitlementSource,
    name: 'EntitlementSource',
    optional: true,
  })
  source?: EntitlementSource;

  @CodeField({ description: 'What is counted', optional: true })
  reference?: string;

  @TextField({ description: 'Unit of the quantities' })
  unit: string;

  @DecimalField({
    description: 'Advance rate of a class by the baseline [m/d]',
    optional: true,
    rounded: true,
  })
  advanceRateMPerD?: string;

  @DecimalField({
    description: 'Hours of one unit; absent for a class without a rate [h]',
    decimals: 6,
    rounded: true,
    optional: true,
  })
  hoursPerUnit?: string;

  @DecimalField({ description: 'Tendered quantity over the horizon, in the unit', rounded: true })
  tenderedQuantity: string;

  @DecimalField({ description: 'Quantity tendered for the whole drive, in the unit', rounded: true })
  wholeTenderedQuantity: string;

  @EnumField({
    description: 'How the tendered quantity to date is found',
    values: TenderedToDateBy,
    name: 'TenderedToDateBy',
  })
  tenderedToDateBy: TenderedToDateBy;

  @DecimalField({
    description:
      'Actual quantity over the horizon, in the unit: what countersigned shifts hold, and at completion what is tendered for the rest',
    decimals: 4,
  })
  actualQuantity: string;

  @DecimalField({
    description: 'Of the metres of a class: counted, by an agreed class decision [m]',
    optional: true,
  })
  agreedQuantity?: string;

  @DecimalField({
    description: 'Time of the tendered quantity [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  tenderedHours?: string;

  @DecimalField({
    description: 'Time of the actual quantity [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  actualHours?: string;

  @DecimalField({ description: 'Actual less tendered [h]', decimals: 4, rounded: true, optional: true })
  differenceHours?: string;

  @DecimalField({
    description: 'Tendered days of a class, at its rate [d]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  tenderedDays?: string;

  @DecimalField({
    description: 'Actual days of a class, at its rate [d]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  actualDays?: string;
}

@ObjectType({
  description:
    'Time by a basis of entitlement, from report.entitlement_result. Each figure is rounded once, at the end.',
})
export class EntitlementResult {
  @HorizonField(false)
  horizon: EntitlementHorizon;

  @EnumField({ description: 'Rule that was used', values: EntitlementRule, name: 'EntitlementRule' })
  rule: EntitlementRule;

  @CodeField({ description: 'Baseline that was used', optional: true })
  baseline?: string;

  @DecimalField({ description: 'Tendered time [weeks]', decimals: 4 })
  tenderedWeeks: string;

  @DecimalField({ description: 'Working hours a week [h]', decimals: 2 })
  workingHoursPerWeek: string;

  @DecimalField({ description: 'Sum of the tendered hours [h]', decimals: 4, optional: true })
  tenderedHours?: string;

  @DecimalField({ description: 'Sum of the actual hours [h]', decimals: 4, optional: true })
  actualHours?: string;

  @DecimalField({ description: 'Actual less tendered [h]', decimals: 4, optional: true })
  differenceHours?: string;

  @DecimalField({
    description:
      'Extension by the rule for what is countersigned, negative where less was encountered; the same by either horizon [weeks]',
    decimals: 4,
    optional: true,
  })
  extensionWeeks?: string;

  @DecimalField({ description: 'Tendered time with the extension [weeks]', decimals: 4, optional: true })
  adjustedWeeks?: string;

  @DecimalField({ description: 'Driven metres at the face [m]' })
  drivenM: string;

  @DecimalField({ description: 'Metres bored in countersigned shifts: only these count [m]' })
  countedM: string;

  @DecimalField({ description: 'Of the driven metres those without an agreed class decision [m]' })
  unsettledM: string;

  @DecimalField({ description: 'Metres from the face to the end of the drive [m]' })
  remainingM: string;

  @ListField(() => EntitlementLine, { description: 'The lines that are summed' })
  lines: EntitlementLine[];

  @TextField({ description: 'Why there is no sum, where there is none', optional: true })
  unanswered?: string;

  @TextField({ description: 'What the figures do not say', maxLength: 1000 })
  caution: string;
}
