import { ArgsType, ObjectType, registerEnumType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  ListField,
  NumberField,
  TextField,
} from '../../common/api/fields.js';
import { NumberRead } from '../../common/api/number-read.js';
import { PlusKept } from '../../common/api/plus-kept.js';
import { SupportUnit, SupportZone } from '../../generated/prisma/enums.js';
import '../catalogue/catalogue.models.js';
import '../support/support-zone.js';

export enum SupportPart {
  due = 'due',
  not_yet_due = 'not_yet_due',
  not_assessed = 'not_assessed',
  ahead_of_face = 'ahead_of_face',
}

registerEnumType(SupportPart, {
  name: 'SupportPart',
  description:
    'due: farther behind the face than the zone’s limit, or behind the face where none is set. not_yet_due: nearer. ' +
    'not_assessed: driven, but no design section and no class with a standard says what is demanded. ahead_of_face: not driven yet.',
});

export enum SupportState {
  missing = 'missing',
  within_tolerance = 'within_tolerance',
  complete = 'complete',
  not_required = 'not_required',
  not_yet_due = 'not_yet_due',
  not_assessed = 'not_assessed',
  ahead_of_face = 'ahead_of_face',
}

registerEnumType(SupportState, {
  name: 'SupportState',
  description:
    'missing: due and short of what is required by more than the tolerance. within_tolerance: short by no more. complete: not short. ' +
    'not_required: nothing demands the item there. not_yet_due: short, but nearer to the face than the zone’s limit. not_assessed, ahead_of_face: as the part.',
});

export enum RequirementGap {
  no_class = 'no_class',
  no_standard = 'no_standard',
}

registerEnumType(RequirementGap, {
  name: 'RequirementGap',
  description: 'Why nothing is assessed: no ground class rules there, or the one that does has no standard.',
});

/** Plain ASCII: one other letter would double the memory of a long answer and slow its writing. */
export const SUPPORT_CAUTION =
  'Decision support: it compares what the record holds, which may be late or incomplete, with quantities by the metre, and says nothing of where on the circumference support stands, of its quality or of the rock. ' +
  'The designer of the project, the responsible engineer on site and the local code decide; inspection on site goes before any figure.';

@ArgsType()
export class MissingSupportArgs {
  @NumberRead()
  @NumberField({
    description:
      'Length of the intervals on round chainages; when not given 10, or all between from and to as one [m]',
    min: 1,
    max: 10_000,
    decimals: 3,
    optional: true,
  })
  lengthM?: number;

  @PlusKept()
  @ChainageField({
    description: 'One end of what is looked at, together with to; else the drive',
    optional: true,
  })
  from?: string;

  @PlusKept()
  @ChainageField({ description: 'The other end', optional: true })
  to?: string;

  @EnumField({
    description: 'Only rows of this state',
    values: SupportState,
    name: 'SupportState',
    optional: true,
  })
  state?: SupportState;
}

@ObjectType({
  description: 'Support required against installed in an interval, from report.missing_support_between.',
})
export class MissingSupport {
  @ChainageField({ description: 'Where the interval begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @CodeField({
    description: 'Code of the item; absent in a row that tells a length not assessed',
    optional: true,
  })
  item?: string;

  @EnumField({
    description: 'Unit of the quantities',
    values: SupportUnit,
    name: 'SupportUnit',
    optional: true,
  })
  unit?: SupportUnit;

  @EnumField({ description: 'Zone', values: SupportZone, name: 'SupportZone', optional: true })
  zone?: SupportZone;

  @EnumField({ description: 'Which part of the interval it is of', values: SupportPart, name: 'SupportPart' })
  part: SupportPart;

  @DecimalField({ description: 'Length along which the item is demanded, or that is not assessed [m]' })
  lengthM: string;

  @DecimalField({ description: 'Quantity per metre times length, exact', decimals: 9 })
  required: string;

  @DecimalField({ description: 'Quantity installed' })
  installed: string;

  @DecimalField({ description: 'Installed less required, exact', min: -999_999_999, decimals: 9 })
  difference: string;

  @DecimalField({ description: 'What is short, whatever the tolerance and the limit; exact', decimals: 9 })
  missingRaw: string;

  @DecimalField({
    description: 'What is over, exact: required + surplus − missingRaw = installed',
    decimals: 9,
  })
  surplus: string;

  @DecimalField({ description: 'Shortfall that is not told', decimals: 13 })
  tolerated: string;

  @DecimalField({ description: 'Shortfall told: due, and beyond the tolerance', decimals: 9 })
  missing: string;

  @EnumField({ description: 'How it stands', values: SupportState, name: 'SupportState' })
  state: SupportState;
}

@ObjectType({ isAbstract: true })
export abstract class SupportReading {
  @ChainageField({ description: 'Chainage of the face' })
  faceChainage: string;

  @TextField({ description: 'What the figures do not say', maxLength: 1000 })
  caution: string;
}

@ObjectType({ description: 'Support required against installed, along the drive.' })
export class MissingSupportReport extends SupportReading {
  @ListField(() => MissingSupport, { description: 'By interval, zone, item and part', max: 1_000_000 })
  items: MissingSupport[];
}

@ObjectType({
  description:
    'A stretch of the driven length and by what its support is demanded, from report.required_support.',
})
export class RequiredSupport {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @TextField({
    description: 'design_section, or by what the ground class rules; absent: no class',
    optional: true,
  })
  basis?: string;

  @CodeField({ description: 'Ground class that rules there', optional: true })
  groundClass?: string;

  @CodeField({ description: 'Design section whose list goes before the class’s', optional: true })
  designSection?: string;

  @TextField({ description: 'Edition of the list that is demanded', optional: true })
  edition?: string;

  @EnumField({
    description: 'Why nothing is assessed there; absent where it is',
    values: RequirementGap,
    name: 'RequirementGap',
    optional: true,
  })
  gap?: RequirementGap;
}

@ObjectType({ description: 'By what support is demanded along the driven length.' })
export class RequiredSupportReport extends SupportReading {
  @ListField(() => RequiredSupport, { description: 'By stretch, along the drive', max: 100_000 })
  items: RequiredSupport[];
}
