import { ObjectType } from '@nestjs/graphql';
import {
  BooleanField,
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  EnumField,
  InstantField,
  IntField,
  TextField,
} from '../../../common/api/fields.js';
import { ResponsibleParty, ShiftState, TimeClass } from '../../../generated/prisma/enums.js';
import '../../site/catalogue/catalogue.models.js';
import '../shifts/shift-document.model.js';

@ObjectType({ isAbstract: true })
abstract class Hours {
  @DecimalField({ description: 'Time booked, exact [s]' })
  seconds: string;

  @DecimalField({ description: 'The same in hours, rounded [h]', decimals: 4, rounded: true })
  hours: string;
}

@ObjectType({ isAbstract: true })
abstract class SharedHours extends Hours {
  @DecimalField({ description: 'Share of the whole list; the shares sum to exactly 1', decimals: 6 })
  share: string;

  @IntField({ description: 'Activities with time in it' })
  activityCount: number;
}

@ObjectType({ isAbstract: true })
export abstract class LedgerFigures extends SharedHours {
  @DecimalField({ description: 'Mean time of an activity [h]', decimals: 4, rounded: true })
  meanHours: string;

  @DecimalField({ description: 'Time of the longest activity [h]', decimals: 4, rounded: true })
  longestHours: string;
}

@ObjectType({ description: 'Hours by activity code, from report.ledger_by_code.' })
export class LedgerByCode extends LedgerFigures {
  @CodeField({ description: 'Activity code' })
  code: string;

  @TextField({ description: 'What the code stands for' })
  description: string;

  @EnumField({ description: 'What its time counts as', values: TimeClass, name: 'TimeClass' })
  countsAs: TimeClass;
}

@ObjectType({ description: 'Hours by time class, from report.ledger_by_time_class.' })
export class LedgerByTimeClass extends LedgerFigures {
  @EnumField({ description: 'Time class', values: TimeClass, name: 'TimeClass' })
  countsAs: TimeClass;
}

@ObjectType({ description: 'Hours by the party responsible for them, from report.ledger_by_party.' })
export class LedgerByParty extends LedgerFigures {
  @EnumField({
    description: 'The party; absent where none is named',
    values: ResponsibleParty,
    name: 'ResponsibleParty',
    optional: true,
  })
  responsibleParty?: ResponsibleParty;
}

@ObjectType({ description: 'Hours by the equipment that they concern, from report.ledger_by_equipment.' })
export class LedgerByEquipment extends LedgerFigures {
  @CodeField({ description: 'Code of the equipment; absent where none is named', optional: true })
  equipment?: string;

  @TextField({ description: 'What it is', optional: true })
  description?: string;
}

@ObjectType({ description: 'Hours by shift, from report.ledger_by_shift.' })
export class LedgerByShift extends LedgerFigures {
  @DateField({ description: 'Date on which the shift starts' })
  date: string;

  @CodeField({ description: 'Name of the shift' })
  shift: string;

  @EnumField({ description: 'State of the shift', values: ShiftState, name: 'ShiftState' })
  state: ShiftState;
}

@ObjectType({ description: 'Hours by ISO week of production days, from report.ledger_by_week.' })
export class LedgerByWeek extends LedgerFigures {
  @TextField({ description: 'ISO week, such as 2027-W09', maxLength: 8 })
  week: string;

  @DateField({ description: 'Monday of the week' })
  firstDay: string;
}

@ObjectType({
  description: 'Hours by the ground class where the face stood, from report.ledger_by_ground_class.',
})
export class LedgerByGroundClass extends SharedHours {
  @CodeField({ description: 'Code of the class; absent where none is noted', optional: true })
  groundClass?: string;

  @DecimalField({
    description: 'Mean time of an activity; absent when there is none [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  meanHours?: string;

  @DecimalField({
    description: 'Time of the longest activity; absent when there is none [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  longestHours?: string;

  @DecimalField({
    description: 'Hours, excluding boring, regripping and outside working time [h]',
    decimals: 4,
    rounded: true,
  })
  nonBoringHours: string;

  @DecimalField({
    description: 'Of these the hours that the programme does not plan [h]',
    decimals: 4,
    rounded: true,
  })
  lostHours: string;

  @DecimalField({ description: 'Metres that shifts bored in the class [m]' })
  boredM: string;

  @DecimalField({
    description: 'Non-boring hours per 100 m bored in the class; absent when none was bored [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  nonBoringHoursPer100M?: string;

  @DecimalField({
    description: 'Hours lost per 100 m bored in the class; absent when none was bored [h]',
    decimals: 4,
    rounded: true,
    optional: true,
  })
  lostHoursPer100M?: string;
}

@ObjectType({ description: 'Hours by where the face stood, from report.ledger_in_intervals.' })
export class LedgerByInterval extends LedgerFigures {
  @ChainageField({ description: 'Where the interval begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;
}

@ObjectType({ description: 'A code by its non-boring or lost hours, from report.ledger_pareto.' })
export class ParetoCode extends LedgerByCode {
  @IntField({ description: 'Rank; 1 for the code with the most hours' })
  rank: number;

  @DecimalField({ description: 'Cumulative share up to this code; 1 at the last', decimals: 6 })
  cumulativeShare: string;

  @BooleanField({ description: 'Whether its time is lost: the programme does not plan it' })
  lost: boolean;
}

@ObjectType({
  description: 'A stop: adjoining time of one code, whole even across shifts, from report.ledger_stop.',
})
export class LedgerStop extends Hours {
  @CodeField({ description: 'Activity code' })
  code: string;

  @TextField({ description: 'What the code stands for' })
  description: string;

  @EnumField({ description: 'What its time counts as', values: TimeClass, name: 'TimeClass' })
  countsAs: TimeClass;

  @InstantField({ description: 'When it began' })
  startedAt: string;

  @InstantField({ description: 'When it ended' })
  endedAt: string;

  @DateField({ description: 'Production day on which it began' })
  productionDay: string;

  @IntField({ description: 'Activities that it is booked in' })
  activityCount: number;

  @ChainageField({ description: 'Where the face stood when it began' })
  faceChainage: string;

  @BooleanField({ description: 'Whether the time is lost: the programme does not plan it' })
  lost: boolean;

  @CodeField({ description: 'Ground class there; absent where none is noted', optional: true })
  groundClass?: string;
}
