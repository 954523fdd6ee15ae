import { ProblemError } from '../../../common/api/problem.js';
import { scope } from '../../../common/database/scope.js';

/**
 * A follower with a number beyond the end of the history has followed a different history: after a restore or failover that lost the
 * last changes, numbers are assigned again, and continuing silently would skip the changes that now have them.
 * @throws ProblemError conflict
 */
export const assertReached = (number: number, newest: number): void => {
  if (number <= newest) return;
  const { project } = scope();
  throw new ProblemError(
    'beyond_history',
    `Change ${number} is not in the history of project ${project}, which ends at ${newest}: the database holds an earlier state than the one that was followed. Compare the hashes of the changes that you have with GET …/changes/{number}, and go on after the last that is the same.`,
  );
};
