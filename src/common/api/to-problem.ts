import { HttpException } from '@nestjs/common';
import { isAway, sqlErrorOf } from '../database/sql-error.js';
import { OutcomeUnknown } from '../database/transaction.js';
import { ProblemError, type ProblemCode } from './problem.js';

const CODES = new Map<number, ProblemCode>([
  [401, 'unauthenticated'],
  [403, 'forbidden'],
  [404, 'not_found'],
  [408, 'timeout'],
  [413, 'too_large'],
  [415, 'unsupported_media_type'],
  [422, 'invalid'],
  [429, 'too_many_requests'],
  [503, 'unavailable'],
]);

/** Integrity rules: the record would not balance. Our own rules (DB) are worded for people. */
const RULE = /^(23|DB)/;

/** Our own rule that another person is needed. */
const SECOND_PERSON = 'DB003';

const HOW_TO_FIND_OUT =
  'The connection to the database broke while the write was being committed: it was made whole or not at all. Read the record to see, or send the same again: an identical PUT answers "unchanged" when it was made, a POST with the same Idempotency-Key answers what the first one would have.';

const fromDatabase = (error: unknown): ProblemError | undefined => {
  if (error instanceof OutcomeUnknown) return new ProblemError('outcome_unknown', HOW_TO_FIND_OUT);
  const sql = sqlErrorOf(error);
  if (sql?.state === SECOND_PERSON) return new ProblemError('forbidden', sql.message);
  if (sql && RULE.test(sql.state)) return new ProblemError('conflict', sql.message);
  return isAway(error)
    ? new ProblemError('unavailable', 'The database cannot answer now; nothing was written. Try again.')
    : undefined;
};

const statusOf = (error: unknown): number => {
  if (error instanceof HttpException) return error.getStatus();
  const { statusCode } = error as { statusCode?: unknown };
  return typeof statusCode === 'number' ? statusCode : 500;
};

/** Any failure as a problem that can be told; what is not the caller's to know is `internal`. */
export const toProblemError = (error: unknown): ProblemError => {
  if (error instanceof ProblemError) return error;
  const known = fromDatabase(error);
  if (known) return known;
  const status = statusOf(error);
  if (status >= 500 && status !== 503)
    return new ProblemError('internal', 'The service failed; its log tells why.');
  return new ProblemError(CODES.get(status) ?? 'malformed', (error as Error).message);
};
