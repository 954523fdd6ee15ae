import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { SupportKind, SupportUnit } from '../../../generated/prisma/enums.js';
import { RESTS_ON, SupportReading } from './missing-support.models.js';

export enum LimitState {
  within = 'within',
  exceeded = 'exceeded',
  not_assessed = 'not_assessed',
  no_limit = 'no_limit',
}

registerEnum(LimitState, {
  name: 'LimitState',
  description:
    'exceeded: an incomplete stroke begins farther behind the face than the limit. not_assessed: none does, but a length beyond the limit is not assessed. ' +
    'no_limit: none is set.',
  values: {
    exceeded: 'An incomplete stroke begins farther behind the face than the limit',
    within: 'All beyond the limit is complete',
    not_assessed: 'A length beyond the limit is not assessed',
    no_limit: 'No limit is set',
  },
});

@ObjectType({ description: 'Unsupported length behind the face in a zone, from report.unsupported_length.' })
export class UnsupportedZone {
  @CodeField({ description: 'The zone' })
  zone: string;

  @DecimalField({
    description: 'Length behind the face within which its support may be incomplete; absent: none is set [m]',
    optional: true,
  })
  limitM?: string;

  @DecimalField({ description: 'From the face back to the nearest stroke whose support is complete [m]' })
  unsupportedM: string;

  @ChainageField({ description: 'Where that stroke ends; the start of the drive when there is none' })
  supportedToChainage: string;

  @ChainageField({ description: 'To where everything from the start of the drive is complete' })
  completeToChainage: string;

  @DecimalField({
    description:
      'Length of all strokes of the drive in which something is missing; what is not assessed is given apart [m]',
  })
  incompleteM: string;

  @DecimalField({ description: 'The part of these strokes that lies beyond the limit [m]', optional: true })
  overdueM?: string;

  @DecimalField({
    description: 'Driven length without a class or a standard; never counted as supported [m]',
  })
  notAssessedM: string;

  @DecimalField({ description: 'The part of it that lies beyond the limit [m]', optional: true })
  overdueNotAssessedM?: string;

  @EnumField({ description: 'Against the limit', values: LimitState, name: 'LimitState' })
  state: LimitState;

  @TextField({ description: `Of the incomplete strokes. ${RESTS_ON}`, maxLength: 10_000, optional: true })
  restsOn?: string;
}

@ObjectType({ description: 'Unsupported length behind the face, by zone.' })
export class UnsupportedLength extends SupportReading {
  @ListField(() => UnsupportedZone, { description: 'By zone' })
  zones: UnsupportedZone[];
}

@ArgsType()
export class NextStrokeArgs {
  @DecimalField({
    description: 'Length of the next stroke; the machine’s when not given [m]',
    min: 0.001,
    max: 10,
    optional: true,
  })
  strokeLengthM?: string;
}

@ObjectType({ description: 'A zone with a limit, once the face has advanced by one more stroke.' })
export class NextStrokeZone {
  @CodeField({ description: 'The zone' })
  zone: string;

  @DecimalField({ description: 'Length behind the face within which its support may be incomplete [m]' })
  limitM: string;

  @ChainageField({ description: 'Up to there its support must be complete then' })
  completeToChainage: string;

  @DecimalField({
    description:
      'Length of the strokes behind there without a class or a standard: what they need is not known [m]',
  })
  notAssessedM: string;

  @BooleanField({
    description: 'Whether the limit is shorter than the stroke: the stroke itself will reach beyond it',
    optional: true,
  })
  isLimitShorter?: boolean;
}

@ObjectType({ description: 'What must still be installed before the next stroke, by the record.' })
export class NextStrokeItem {
  @CodeField({ description: 'Zone' })
  zone: string;

  @CodeField({ description: 'Code of the item' })
  item: string;

  @EnumField({ description: 'Kind of support', values: SupportKind, name: 'SupportKind' })
  kind: SupportKind;

  @TextField({ description: 'What the item is' })
  description: string;

  @EnumField({ description: 'Unit of the quantities', values: SupportUnit, name: 'SupportUnit' })
  unit: SupportUnit;

  @ChainageField({ description: 'Where the strokes that lack it begin, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where they end' })
  to: string;

  @DecimalField({ description: 'Required in them', decimals: 9 })
  required: string;

  @DecimalField({ description: 'Installed in them' })
  installed: string;

  @DecimalField({ description: 'What is short', decimals: 9 })
  missing: string;

  @TextField({ description: RESTS_ON, optional: true })
  restsOn?: string;
}

@ObjectType({ description: 'What the record misses before the next stroke, from report.before_next_stroke.' })
export class BeforeNextStroke extends SupportReading {
  @DecimalField({ description: 'Length of the next stroke that was assumed [m]', optional: true })
  strokeLengthM?: string;

  @ListField(() => NextStrokeZone, { description: 'The zones that have a limit' })
  zones: NextStrokeZone[];

  @ListField(() => NextStrokeItem, {
    description: 'By zone, item and run of strokes that follow one another, from the start of the drive',
    max: 100_000,
  })
  items: NextStrokeItem[];

  @TextField({ description: 'What has no answer and why; absent when everything has', optional: true })
  unanswered?: string;
}
