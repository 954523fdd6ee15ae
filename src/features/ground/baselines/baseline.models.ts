import { ArgsType, InputType, ObjectType } from '@nestjs/graphql';
import { ArrayMinSize } from 'class-validator';
import {
  ChainageField,
  CodeField,
  DecimalField,
  IntField,
  ListField,
  TextField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';
import { DrivePath } from '../../../common/api/paths.js';

const NAME = 'Name of the baseline; another version has another name';

/** Name in a drive. */
@ArgsType()
export class BaselinePath extends DrivePath {
  @CodeField({ description: NAME })
  baseline: string;
}

/** Name, where the drive is known. */
@ArgsType()
export class BaselineArgs {
  @CodeField({ description: NAME })
  baseline: string;
}

/** Name, with paging. */
@ArgsType()
export class BaselinePageArgs extends PageArgs {
  @CodeField({ description: NAME })
  baseline: string;
}

@InputType('BaselineIntervalInput', { description: 'What the contract expects over a length of the drive.' })
@ObjectType({ description: 'What the contract expects over a length of the drive.' })
export class BaselineInterval {
  @ChainageField({ description: 'Where it begins, in the direction of the drive' })
  from: string;

  @ChainageField({ description: 'Where it ends' })
  to: string;

  @CodeField({ description: 'Code of the ground class' })
  groundClass: string;

  @TextField({ description: 'The kind of rock', optional: true })
  lithology?: string;

  @DecimalField({
    description: 'Expected water inflow of the interval [l/min]',
    max: 999_999,
    decimals: 2,
    optional: true,
  })
  waterInflowLPerMin?: string;

  @DecimalField({
    description: 'Expected advance rate, in days of the baseline’s working hours [m/d]',
    min: 0.001,
    max: 999,
  })
  advanceRateMPerD: string;
}

@InputType()
@ObjectType({ isAbstract: true })
export class BaselineHead {
  @DecimalField({
    description: 'Working hours in a day of the advance rates [h/d]',
    min: 0.01,
    max: 24,
    decimals: 2,
  })
  workingHoursPerDay: string;

  @TextField({ description: 'Remark', optional: true })
  remark?: string;
}

@InputType({ description: 'What the contract expects of the ground along the drive.' })
export class BaselineInput extends BaselineHead {
  @ArrayMinSize(1, { message: 'a baseline must have at least one interval' })
  @ListField(() => BaselineInterval, {
    description: 'Its intervals; they cover the drive from its start to its end without gap or overlap',
  })
  intervals: BaselineInterval[];
}

@ObjectType({ description: 'A version of the ground that the contract expects along the drive.' })
export class BaselineSummary extends BaselineHead {
  @CodeField({ description: NAME })
  baseline: string;

  @IntField({ description: 'Number of its intervals' })
  intervalCount: number;
}

@ObjectType({ description: 'A baseline of the drive with its intervals.' })
export class Baseline extends BaselineSummary {
  @ListField(() => BaselineInterval, { description: 'Its intervals, along the drive' })
  intervals: BaselineInterval[];
}
