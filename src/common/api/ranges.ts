import { ArgsType } from '@nestjs/graphql';
import { DateField } from './fields.js';
import { IsNotBefore } from './rules.js';

/** A range of days; open at an end that is not given. */
@ArgsType()
export class DateRange {
  @DateField({ description: 'First date', optional: true })
  from?: string;

  @IsNotBefore('from')
  @DateField({ description: 'Last date', optional: true })
  to?: string;
}

/** First and last day for SQL; null where the range is open. */
export const daysOf = ({ from, to }: DateRange): [string | null, string | null] => [from ?? null, to ?? null];
