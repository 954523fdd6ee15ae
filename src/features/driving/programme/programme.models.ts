import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { ArrayMinSize } from 'class-validator';
import {
  ChainageField,
  CodeField,
  DateField,
  DecimalField,
  IntField,
  ListField,
} from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';

const NAME = 'Name of the programme; another version has another name';

/** Name in a drive. */
@ArgsType()
export class ProgrammePath extends DrivePath {
  @CodeField({ description: NAME })
  programme: string;
}

/** Name, where the drive is known. */
@ArgsType()
export class ProgrammeArgs {
  @CodeField({ description: NAME })
  programme: string;
}

@InputType('ProgrammePointInput', {
  description: 'Where the face is to stand at the end of a production day.',
})
@ObjectType({ description: 'Where the face is to stand at the end of a production day.' })
export class ProgrammePoint {
  @DateField({ description: 'The production day' })
  date: string;

  @ChainageField({ description: 'Where the face is to stand at its end' })
  chainage: string;
}

@InputType({ description: 'Where the face is to stand, day by day.' })
export class ProgrammeInput {
  @ArrayMinSize(2, { message: 'a programme must have at least two points' })
  @ListField(() => ProgrammePoint, {
    description: 'Its points, by date, at least two; from one to the next the face advances or stays',
  })
  points: ProgrammePoint[];
}

@ObjectType({ description: 'A programme of the drive and its ends, from report.programme.' })
export class ProgrammeSummary {
  @CodeField({ description: NAME })
  programme: string;

  @IntField({ description: 'Number of its points' })
  pointCount: number;

  @DateField({ description: 'Production day of its first point' })
  firstDay: string;

  @DateField({ description: 'Production day of its last point' })
  lastDay: string;

  @ChainageField({ description: 'Where it begins' })
  fromChainage: string;

  @ChainageField({ description: 'Where it ends' })
  toChainage: string;
}

@ObjectType({ description: 'A programme of the drive with its points.' })
export class Programme extends ProgrammeSummary {
  @ListField(() => ProgrammePoint, { description: 'Its points, by date' })
  points: ProgrammePoint[];
}

@ObjectType({
  description:
    'Plan against actual at the end of a production day, from report.programme_progress. Between points the plan runs evenly from day to day.',
})
export class ProgrammeDay {
  @DateField({ description: 'The production day' })
  productionDay: string;

  @ChainageField({
    description: 'Where the face was to stand; absent before the programme’s first day and after its last',
    optional: true,
  })
  plannedChainage?: string;

  @DecimalField({ description: 'The same in driven metres [m]', optional: true })
  plannedM?: string;

  @ChainageField({
    description:
      'Where the face stood, by the timed borings: at the start before the record’s first day; absent after its last',
    optional: true,
  })
  actualChainage?: string;

  @DecimalField({ description: 'The same in driven metres [m]', optional: true })
  actualM?: string;

  @DecimalField({ description: 'Metres ahead of the programme, negative behind it [m]', optional: true })
  aheadM?: string;

  @DecimalField({
    description:
      'Days from this one to the one on which the programme reaches the actual position, negative behind it; absent where it does not reach it [d]',
    decimals: 2,
    optional: true,
  })
  aheadDays?: string;
}
