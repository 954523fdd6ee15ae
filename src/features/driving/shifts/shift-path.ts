import { ArgsType } from '@nestjs/graphql';
import { CodeField, DateField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';

@ArgsType()
export class ShiftPath extends DrivePath {
  @DateField({ description: 'Date on which the shift starts' })
  date: string;

  @CodeField({ description: 'Name of the shift in the calendar' })
  shift: string;
}
