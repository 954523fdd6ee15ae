import { ProblemError } from '../../../common/api/problem.js';
import { scope } from '../../../common/database/scope.js';

/**
 * Whoever has followed further than the history goes has followed another one: after a restore or a failover that lost its last
 * changes, numbers are given again, and to go on silently would pass over what now has them.
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
