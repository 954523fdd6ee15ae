import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { NextField } from '../../../common/api/cursor.js';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { OverbreakCause } from '../../../generated/prisma/enums.js';
import type { RecordDoubt } from '../../driving/doubts/doubt.models.js';
import { DoubtsField, DoubtsOfOneField } from '../../driving/doubts/doubts-told.js';

registerEnum(OverbreakCause, {
  name: 'OverbreakCause',
  description: 'geological: by the ground. operational: by the way of working. Each is a separate item.',
  values: { geological: 'By the ground', operational: 'By the way of working' },
});

const NAME = 'Name of the item in its drive';

@ArgsType()
export class OverbreakPath extends DrivePath {
  @CodeField({ description: NAME })
  name: string;
}

@InputType({ isAbstract: true })
@ObjectType({ isAbstract: true })
abstract class OverbreakAsSurveyed {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @EnumField({ description: 'Cause', values: OverbreakCause, name: 'OverbreakCause' })
  cause: OverbreakCause;

  @DecimalField({
    description: 'As-built area less theoretical area; 0 where none was found [m²]',
    max: 999.999,
    optional: true,
  })
  areaM2?: string;

  @DecimalField({
    description: 'Volume; area times length where it is not given [m³]',
    max: 999_999,
    optional: true,
  })
  volumeM3?: string;

  @DecimalField({ description: 'Largest depth beyond the bored section [m]', max: 99, optional: true })
  maxDepthM?: string;

  @DecimalField({
    description:
      'Start of its arc, clockwise from the crown seen in the direction of the drive; the ring when not given [°]',
    max: 359.99,
    decimals: 2,
    optional: true,
  })
  arcFromDeg?: string;

  @DecimalField({
    description: 'End of its arc; less than its start where it lies over the crown [°]',
    min: 0.01,
    max: 360,
    decimals: 2,
    optional: true,
  })
  arcToDeg?: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;

  @TextField({ description: 'Who surveyed it', maxLength: 100, optional: true })
  surveyedBy?: string;

  @InstantField({ description: 'When it was surveyed', optional: true })
  surveyedAt?: string;
}

@InputType({ description: 'Overbreak, as it was surveyed.' })
export class OverbreakInput extends OverbreakAsSurveyed {
  @BooleanField({
    description:
      'Whether volumeM3 was surveyed; true when it is given and this is not. false: the volume is area times length, and volumeM3 is omitted or as it is read',
    optional: true,
  })
  isVolumeSurveyed?: boolean;
}

@ObjectType({ description: 'Rock that came out beyond the bored section, along an interval.' })
export class OverbreakItem extends OverbreakAsSurveyed {
  @CodeField({ description: NAME })
  name: string;

  @DecimalField({ description: 'Length along the drive [m]' })
  lengthM: string;

  @BooleanField({ description: 'Whether the volume was surveyed; else it is area times length' })
  isVolumeSurveyed: boolean;

  @DoubtsOfOneField()
  doubts?: RecordDoubt[];
}

/** What is answered about one item. */
export class OverbreakItemWithDoubts extends OverbreakItem {
  @DoubtsField()
  declare doubts: RecordDoubt[];
}

@ObjectType({ description: 'A page of overbreak items, along the drive.' })
export class OverbreakPage {
  @ListField(() => OverbreakItem, { description: 'The items, by where they begin and by name' })
  items: OverbreakItem[];

  @NextField()
  next?: string;
}

export const OVERBREAK_CAUTION =
  'Decision support: the figures say what was surveyed. Metres that no item covers are excluded, not assumed sound. What overbreak means ' +
  'for support and safety is for the project’s designer and the local code; who is responsible for it, for the contract.';

@ObjectType({ isAbstract: true })
abstract class OverbreakFigures {
  @DecimalField({ description: 'Metres that items cover, one of 0 m³ too [m]' })
  surveyedM: string;

  @DecimalField({ description: 'Volume of these metres by the bored diameter [m³]' })
  theoreticalVolumeM3: string;

  @DecimalField({ description: 'Geological overbreak [m³]' })
  geologicalVolumeM3: string;

  @DecimalField({ description: 'Operational overbreak [m³]' })
  operationalVolumeM3: string;

  @DecimalField({ description: 'Both [m³]' })
  volumeM3: string;

  @DecimalField({
    description: 'Geological overbreak over theoretical volume [%]',
    decimals: 2,
    optional: true,
  })
  geologicalPercent?: string;

  @DecimalField({
    description: 'Operational overbreak over theoretical volume [%]',
    decimals: 2,
    optional: true,
  })
  operationalPercent?: string;

  @DecimalField({ description: 'Both over theoretical volume [%]', decimals: 2, optional: true })
  percent?: string;

  @DecimalField({ description: 'Largest depth of the items [m]', optional: true })
  maxDepthM?: string;

  @IntField({ description: 'How many items' })
  itemCount: number;
}

@ObjectType({ description: 'Overbreak of a drive, from report.overbreak_total.' })
export class OverbreakTotal extends OverbreakFigures {
  @TextField({ description: 'What the figures do not say' })
  caution: string;
}

@ObjectType({ description: 'Overbreak in an interval that items touch, from report.overbreak_in_intervals.' })
export class OverbreakInterval extends OverbreakFigures {
  @ChainageField({ description: 'Where the interval begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;
}
