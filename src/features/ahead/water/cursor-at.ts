import { faulty } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';

/**
 * The place after which a page of a list by time and name begins.
 * @param place  query of `at` and name by drive, $1, and name, $2
 * @throws ProblemError invalid when there is none of that name
 */
export const cursorAt = async (
  statements: Statements,
  driveId: number,
  place: string,
  after: string | null | undefined,
): Promise<{ at: string; name: string }> => {
  if (after == null) return { at: '-infinity', name: '' };
  const [found] = await readRows<{ at: string; name: string }>(statements, place, driveId, after);
  if (found) return found;
  throw faulty('invalid', [
    { in: 'query', pointer: '/after', value: after, detail: `after ${after}: not found` },
  ]);
};
