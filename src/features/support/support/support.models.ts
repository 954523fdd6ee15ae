import { ArgsType, ObjectType } from '@nestjs/graphql';
import { ChainageWindow } from '../../../common/api/chainage-window.js';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  IntField,
  NumberField,
  TextField,
} from '../../../common/api/fields.js';
import { SupportKind, SupportUnit } from '../../../generated/prisma/enums.js';

/** Whole intervals that overlap a part of the drive. */
@ArgsType()
export class SupportIntervalArgs extends ChainageWindow {
  @NumberField({
    description: 'Length of the intervals; 10 when not given [m]',
    min: 1,
    max: 10_000,
    decimals: 3,
    optional: true,
  })
  lengthM?: number;
}

@ObjectType({ description: 'Support installed on a drive, from report.support_total.' })
export class SupportQuantity {
  @CodeField({ description: 'Code of the item' })
  item: string;

  @EnumField({ description: 'Kind of support', values: SupportKind, name: 'SupportKind' })
  kind: SupportKind;

  @TextField({ description: 'What the item is' })
  description: string;

  @EnumField({ description: 'Unit of the quantity', values: SupportUnit, name: 'SupportUnit' })
  unit: SupportUnit;

  @CodeField({ description: 'Zone in which it was installed' })
  zone: string;

  @DecimalField({ description: 'Quantity, in the unit' })
  quantity: string;

  @IntField({ description: 'Number of lines of the shifts’ support lists behind it' })
  rowCount: number;
}

@ObjectType({ description: 'Support installed by production day, from report.support_by_day.' })
export class SupportByDay extends SupportQuantity {
  @DateField({ description: 'Production day' })
  productionDay: string;
}

@ObjectType({ description: 'Support installed by ground class, from report.support_by_ground_class.' })
export class SupportByGroundClass extends SupportQuantity {
  @CodeField({ description: 'Code of the class; absent where none is noted', optional: true })
  groundClass?: string;
}

@ObjectType({ description: 'Support installed by interval, from report.support_in_intervals.' })
export class SupportByInterval extends SupportQuantity {
  @ChainageField({ description: 'Where the interval begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;
}
