import { matches } from '../../common/api/if-match.js';
import { type Fault, faulty } from '../../common/api/problem.js';
import type { StandingShift } from './shift-context.js';
import { etagOf } from './shift-digest.js';

/** What the caller says of the version it writes over (RFC 9110, section 13). */
export interface Precondition {
  /** If-Match: entity tags, or * */
  ifMatch?: string;
  /** If-None-Match: * */
  createOnly?: boolean;
}

const header = (name: string, value: unknown, detail: string): Fault[] => [
  { in: 'header', pointer: `/${name}`, value, detail },
];

/**
 * Holds a write to its precondition.
 * @throws ProblemError precondition_failed or precondition_required
 */
export const holdPrecondition = (
  { ifMatch, createOnly }: Precondition,
  standing: StandingShift | null,
): void => {
  if (!standing) {
    if (ifMatch !== undefined)
      throw faulty(
        'precondition_failed',
        header('If-Match', ifMatch, 'the shift does not exist: there is nothing to replace'),
      );
    return;
  }
  if (createOnly)
    throw faulty('precondition_failed', header('If-None-Match', '*', 'the shift exists, with other content'));
  const etag = etagOf(standing);
  if (ifMatch === undefined)
    throw faulty(
      'precondition_required',
      header(
        'If-Match',
        undefined,
        `the shift exists: send If-Match with the version you replace, now ${etag}`,
      ),
    );
  if (!matches(ifMatch, etag))
    throw faulty(
      'precondition_failed',
      header('If-Match', ifMatch, `the shift has changed since: it is now ${etag}`),
    );
};
