import { ObjectType } from '@nestjs/graphql';
import {
  CodeField,
  DateField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import { ShiftState } from '../../../generated/prisma/enums.js';

@ObjectType({ description: 'A shift that was accepted: posted, replaced, countersigned or reopened.' })
export class AcceptedShift {
  @DateField({ description: 'Date on which the shift starts' })
  date: string;

  @CodeField({ description: 'Name of the shift' })
  shift: string;

  @EnumField({ description: 'State of the shift', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @IntField({ description: 'Number of the change in the history of the project' })
  change: number;

  @InstantField({ description: 'When it was made' })
  madeAt: string;

  @TextField({ description: 'Who made it' })
  madeBy: string;
}
