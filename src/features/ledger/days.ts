import { faulty } from '../../common/api/problem.js';
import type { DateRange } from '../advance/advance.models.js';

/**
 * First and last production day of a range; null where it is open.
 * @throws ProblemError invalid when it ends before it begins
 */
export const daysOf = ({ from, to }: DateRange): [string | null, string | null] => {
  if (from != null && to != null && to < from)
    throw faulty('invalid', [
      { in: 'query', pointer: '/to', value: to, detail: `to ${to} lies before from ${from}` },
    ]);
  return [from ?? null, to ?? null];
};
