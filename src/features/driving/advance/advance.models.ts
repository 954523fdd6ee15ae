import { ObjectType } from '@nestjs/graphql';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
} from '../../../common/api/fields.js';
import { ShiftState } from '../../../generated/prisma/enums.js';
import '../shift-state/shift-state.js';

@ObjectType({ isAbstract: true })
export abstract class Advance {
  @DecimalField({ description: 'Metres bored, by boring time; 0 when none [m]' })
  advanceM: string;

  @IntField({ description: 'Strokes bored at' })
  strokeCount: number;

  @DecimalField({ description: 'Boring time of the strokes [h]', decimals: 4 })
  boringHours: string;

  @ChainageField({ description: 'Where the first boring began', optional: true })
  fromChainage?: string;

  @ChainageField({ description: 'Where the last boring ended', optional: true })
  faceChainage?: string;

  @DecimalField({ description: 'Sum of this and all earlier advance of the drive [m]' })
  cumulativeM: string;
}

@ObjectType({ description: 'Advance of a shift, from report.shift_advance.' })
export class ShiftAdvance extends Advance {
  @DateField({ description: 'Date on which the shift starts' })
  date: string;

  @CodeField({ description: 'Name of the shift' })
  shift: string;

  @EnumField({ description: 'State of the shift', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @InstantField({ description: 'Start of the shift' })
  startsAt: string;

  @InstantField({ description: 'End of the shift' })
  endsAt: string;
}

@ObjectType({ description: 'Advance of a production day, from report.day_advance.' })
export class DayAdvance extends Advance {
  @DateField({ description: 'Local date on which the production day begins' })
  productionDay: string;
}
