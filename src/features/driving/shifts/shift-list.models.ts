import { ArgsType, ObjectType } from '@nestjs/graphql';
import {
  DateField,
  EnumField,
  InstantField,
  IntField,
  ListField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { DateRange } from '../../../common/api/ranges.js';
import { ShiftState } from '../../../generated/prisma/enums.js';
import '../shift-state/shift-state.js';

/** Filter of the list of shifts of a drive. */
@ArgsType()
export class ShiftFilter extends DateRange {
  @EnumField({
    description: 'Only those in this state',
    values: ShiftState,
    name: 'ShiftState',
    optional: true,
  })
  state?: ShiftState;

  @IntField({ description: 'Maximum number, up to 1000', min: 1, max: 1000, optional: true })
  first?: number;

  @PlusKept()
  @InstantField({ description: 'Only those that start after this moment', cursor: true, optional: true })
  after?: string;
}

@ObjectType({ description: 'A posted shift in its current version; its document is read by date and name.' })
export class ShiftHead {
  @DateField({ description: 'Date on which it starts' })
  date: string;

  @TextField({ description: 'Its name in the calendar' })
  shift: string;

  @InstantField({ description: 'When it starts' })
  startsAt: string;

  @InstantField({ description: 'When it ends' })
  endsAt: string;

  @EnumField({ description: 'Its state', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;

  @TextField({ description: 'Entity tag of the current version' })
  etag: string;

  @TextField({ description: 'Who led the crew', optional: true })
  crewLead?: string;

  @TextListField({ description: 'Everyone who has posted it' })
  postedBy: string[];

  @InstantField({ description: 'When the current version was submitted; absent for a draft', optional: true })
  submittedAt?: string;

  @TextField({ description: 'Who disputes it', optional: true })
  disputedBy?: string;

  @TextField({ description: 'Who countersigned it', optional: true })
  countersignedBy?: string;

  @InstantField({ description: 'When it was countersigned', optional: true })
  countersignedAt?: string;
}

@ObjectType({ description: 'A page of the shifts of a drive.' })
export class ShiftPage {
  @ListField(() => ShiftHead, { description: 'The shifts, by start', max: 1000 })
  items: ShiftHead[];

  @InstantField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: string;
}
