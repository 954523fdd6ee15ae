import { matches } from './if-match.js';
import { type Fault, faulty } from './problem.js';

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
 * @param what  the kind of record, as in "the … exists"
 * @param etag  of what stands; undefined: nothing does
 * @throws ProblemError precondition_failed or precondition_required
 */
export const assertPrecondition = (
  { ifMatch, createOnly }: Precondition,
  etag: string | undefined,
  what: string,
): void => {
  if (etag === undefined) {
    if (ifMatch === undefined) return;
    throw faulty(
      'precondition_failed',
      header('If-Match', ifMatch, `the ${what} does not exist: there is nothing to replace`),
    );
  }
  if (createOnly)
    throw faulty(
      'precondition_failed',
      header('If-None-Match', '*', `the ${what} exists, with other content`),
    );
  if (ifMatch === undefined)
    throw faulty(
      'precondition_required',
      header(
        'If-Match',
        undefined,
        `the ${what} exists: send If-Match with the version you replace, now ${etag}`,
      ),
    );
  if (!matches(ifMatch, etag))
    throw faulty(
      'precondition_failed',
      header('If-Match', ifMatch, `the ${what} has changed since: it is now ${etag}`),
    );
};
