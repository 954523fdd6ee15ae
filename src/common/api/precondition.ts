import type { FastifyRequest } from 'fastify';
import { matches, matchesWeakly } from './if-match.js';
import { type Fault, faulty, type ProblemError } from './problem.js';

/** The caller's conditions on the version (RFC 9110, section 13.1). */
export interface Conditions {
  ifMatch?: string;
  ifNoneMatch?: string;
}

export const conditionsOf = ({ headers }: Pick<FastifyRequest, 'headers'>): Conditions => ({
  ifMatch: headers['if-match'],
  ifNoneMatch: headers['if-none-match'],
});

/** A condition that does not hold. */
interface Failed {
  error: ProblemError;
  /** The failed condition is If-Match: a change that was already made may be answered as made (section 13.1.1). */
  isStale: boolean;
}

const failed = (name: 'If-Match' | 'If-None-Match', value: string, detail: string): Failed => ({
  error: faulty('precondition_failed', header(name, value, detail)),
  isStale: name === 'If-Match',
});

/** @param tag  of the existing record; undefined: there is none */
export const failedPrecondition = (
  { ifMatch, ifNoneMatch }: Conditions,
  tag: string | undefined,
): Failed | undefined => {
  if (ifNoneMatch !== undefined && tag !== undefined && matchesWeakly(ifNoneMatch, tag))
    return failed('If-None-Match', ifNoneMatch, `the record exists: its entity tag is ${tag}`);
  if (ifMatch === undefined) return undefined;
  if (tag === undefined) return failed('If-Match', ifMatch, 'there is no such record yet: nothing matches');
  return matches(ifMatch, tag)
    ? undefined
    : failed('If-Match', ifMatch, `the record has changed since: its entity tag is now ${tag}`);
};

/**
 * Whether the caller of a reading already has the current representation: 304.
 * @throws ProblemError precondition_failed when If-Match names another version
 */
export const isKnown = ({ ifMatch, ifNoneMatch }: Conditions, tag: string): boolean => {
  const stale = failedPrecondition({ ifMatch }, tag);
  if (stale) throw stale.error;
  return ifNoneMatch !== undefined && matchesWeakly(ifNoneMatch, tag);
};

/** Precondition passed to a route that checks it itself. */
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
 * Refuses to create a record that exists, whatever the new content.
 * @param what  the kind of record, as in "the … exists"
 * @throws ProblemError precondition_failed
 */
export const assertCreates = ({ createOnly }: Precondition, etag: string | undefined, what: string): void => {
  if (createOnly && etag !== undefined)
    throw faulty(
      'precondition_failed',
      header('If-None-Match', '*', `the ${what} exists: its entity tag is ${etag}`),
    );
};

/**
 * Checks the precondition of a write.
 * @param what  the kind of record, as in "the … exists"
 * @param etag  of the existing record; undefined: there is none
 * @throws ProblemError precondition_failed or precondition_required
 */
export const assertPrecondition = (
  precondition: Precondition,
  etag: string | undefined,
  what: string,
): void => {
  const { ifMatch } = precondition;
  if (etag === undefined) {
    if (ifMatch === undefined) return;
    throw faulty(
      'precondition_failed',
      header('If-Match', ifMatch, `the ${what} does not exist: there is nothing to replace`),
    );
  }
  assertCreates(precondition, etag, what);
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
