import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  ListField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { SupportUnit } from '../../../generated/prisma/enums.js';
import '../../site/catalogue/catalogue.models.js';
import { DemandedSupport } from '../support-standard/standard.models.js';

export enum SupportPart {
  due = 'due',
  not_yet_due = 'not_yet_due',
  not_assessed = 'not_assessed',
  ahead_of_face = 'ahead_of_face',
}

registerEnum(SupportPart, {
  name: 'SupportPart',
  description:
    'due: farther behind the face than the zone’s limit, or behind the face where none is set. not_yet_due: nearer. ' +
    'not_assessed: driven, but no design section and no class with a standard says what is demanded, or a class considered there has none. ahead_of_face: not driven yet.',
  values: {
    due: 'Farther behind the face than the zone’s limit, or behind the face where none is set',
    not_yet_due: 'Driven, nearer to the face than the zone’s limit',
    not_assessed: 'Driven; what is demanded is not known',
    ahead_of_face: 'Not driven yet',
  },
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

registerEnum(SupportState, {
  name: 'SupportState',
  description:
    'missing: due, and strokes in it are short beyond the tolerance, or pieces stand too far apart. within_tolerance: short over the interval, but no stroke beyond the tolerance or by a whole piece. complete: not short. ' +
    'not_required: nothing demands the item there. not_yet_due: so too, but nearer to the face than the zone’s limit. not_assessed, ahead_of_face: as the part.',
  values: {
    missing: 'Due and short beyond the tolerance, or pieces stand too far apart',
    within_tolerance: 'Short, but no stroke beyond the tolerance or by a whole piece',
    complete: 'Not short',
    not_required: 'Nothing demands the item there',
    not_yet_due: 'Short, but nearer to the face than the zone’s limit',
    not_assessed: 'What is demanded is not known',
    ahead_of_face: 'Not driven yet',
  },
});

export enum RequirementGap {
  no_class = 'no_class',
  no_standard = 'no_standard',
}

registerEnum(RequirementGap, {
  name: 'RequirementGap',
  description:
    'Why nothing, or not all, is assessed: no ground class is known there, or one considered there has no standard.',
  values: {
    no_class: 'No ground class is known there',
    no_standard: 'A ground class of the place has no standard',
  },
});

/** Plain ASCII: a single other character would double the memory of a long answer and slow its writing. */
export const SUPPORT_CAUTION =
  'Decision support: it compares what the record holds, which may be late or incomplete, with quantities by the metre and spacings, and says nothing of how pieces are spread around the circumference unless a spacing around is demanded, of the quality of support or of the rock. ' +
  'The designer of the project, the responsible engineer on site and the local code decide; inspection on site takes precedence over any figure.';

/** Added wherever a figure depends on the support demanded. */
export const RESTS_ON =
  'What demands the support: the design section, the agreed class, or where none is agreed the classes considered there, of which the heavier demand governs';

@ArgsType()
export class MissingSupportArgs {
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
    description: 'One end of the part, together with to; default: the whole drive',
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
    description: 'Code of the item; absent in a row for a length that is not assessed',
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

  @CodeField({ description: 'Zone', optional: true })
  zone?: string;

  @EnumField({
    description: 'Which part of the interval it covers',
    values: SupportPart,
    name: 'SupportPart',
  })
  part: SupportPart;

  @DecimalField({ description: 'Length along which the item is demanded, or that is not assessed [m]' })
  lengthM: string;

  @DecimalField({
    description:
      'Quantity per metre times length, exact; where a spacing is demanded the pieces that stand and that are missing',
    decimals: 9,
  })
  required: string;

  @DecimalField({ description: 'Quantity installed' })
  installed: string;

  @DecimalField({ description: 'Installed less required, exact', min: -999_999_999, decimals: 9 })
  difference: string;

  @DecimalField({
    description: 'Shortfall over the interval as a whole, whatever the tolerance and the limit; exact',
    decimals: 9,
  })
  missingRaw: string;

  @DecimalField({
    description: 'Surplus, exact: required + surplus − missingRaw = installed',
    decimals: 9,
  })
  surplus: string;

  @DecimalField({ description: 'Shortfall that is not reported', decimals: 13 })
  tolerated: string;

  @DecimalField({
    description:
      'Local shortfall, whatever the limit: what single strokes lack beyond the tolerance, of pieces whole ones, and pieces missing by a spacing; a surplus elsewhere does not compensate for it',
    decimals: 9,
  })
  missingLocal: string;

  @DecimalField({ description: 'Shortfall reported: the local one, where it is due', decimals: 9 })
  missing: string;

  @EnumField({ description: 'Its state', values: SupportState, name: 'SupportState' })
  state: SupportState;

  @TextField({ description: RESTS_ON, optional: true })
  restsOn?: string;
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

@ObjectType({ description: 'A class considered at a place, and its basis.' })
export class ConsideredClass {
  @CodeField({ description: 'The class' })
  groundClass: string;

  @TextField({
    description:
      'agreed, proposed, disputed: state of the decision; noted: by the shift; last_agreed: agreed last, withdrawn since',
  })
  basis: string;

  @TextField({ description: 'Edition of its standard; absent: it has none for the day', optional: true })
  edition?: string;

  @TextField({ description: 'Revision of its standard', optional: true })
  revision?: string;

  @DateField({ description: 'Since when that is valid; absent: from the beginning', optional: true })
  validFrom?: string;
}

@ObjectType({ description: 'An item that is demanded of a stretch, and by which class.' })
export class RequiredItem extends DemandedSupport {
  @CodeField({
    description: 'Class whose demand is the heaviest; absent: the design section’s',
    optional: true,
  })
  groundClass?: string;
}

@ObjectType({
  description: 'A stretch of the driven length and what demands its support, from report.required_support.',
})
export class RequiredSupport {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @DecimalField({ description: 'Length [m]' })
  lengthM: string;

  @TextField({
    description:
      'design_section; agreed; noted, proposed, disputed or last_agreed: one class is considered, and none is agreed; heavier_of: several are considered, and the heavier demand governs item by item; absent: no class',
    optional: true,
  })
  basis?: string;

  @CodeField({ description: 'Ground class considered; absent where several are', optional: true })
  groundClass?: string;

  @CodeField({ description: 'Design section whose list takes precedence over the class’s', optional: true })
  designSection?: string;

  @TextField({
    description: 'Edition of the list that is demanded; absent where several are compared',
    optional: true,
  })
  edition?: string;

  @TextField({ description: 'Its revision, that in force when the stretch was bored', optional: true })
  revision?: string;

  @DateField({
    description: 'First production day whose metres that revision judges; absent: from the beginning',
    optional: true,
  })
  validFrom?: string;

  @TextField({ description: RESTS_ON, optional: true })
  restsOn?: string;

  @ListField(() => ConsideredClass, { description: 'The classes considered, each with its standard' })
  considered: ConsideredClass[];

  @ListField(() => RequiredItem, {
    description: 'What is demanded there, by zone and item; of several classes the heaviest',
  })
  demanded: RequiredItem[];

  @EnumField({
    description: 'Why nothing, or not all, is assessed there; absent where all is',
    values: RequirementGap,
    name: 'RequirementGap',
    optional: true,
  })
  gap?: RequirementGap;
}

@ObjectType({ description: 'What demands support along the driven length.' })
export class RequiredSupportReport extends SupportReading {
  @ListField(() => RequiredSupport, { description: 'By stretch, along the drive', max: 100_000 })
  items: RequiredSupport[];
}
