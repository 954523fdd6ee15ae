import { HttpException } from '@nestjs/common';
import { isUnavailable, type SqlError, sqlErrorOf } from '../database/sql-error.js';
import { OutcomeUnknown } from '../database/transaction.js';
import { JSON_TYPE } from './content-types.js';
import { ProblemError, type ProblemCode } from './problem.js';

const CODES = new Map<number, ProblemCode>([
  [401, 'unauthenticated'],
  [403, 'forbidden'],
  [404, 'not_found'],
  [405, 'method_not_allowed'],
  [406, 'not_acceptable'],
  [408, 'timeout'],
  [413, 'too_large'],
  [414, 'uri_too_long'],
  [415, 'unsupported_media_type'],
  [422, 'invalid'],
  [429, 'too_many_requests'],
  [431, 'headers_too_large'],
  [503, 'unavailable'],
]);

/** Errors raised by our own database rules, worded for people, by SQLSTATE. */
const RULES = new Map<string, ProblemCode>([
  ['DB001', 'unbalanced'],
  ['DB002', 'locked'],
  ['DB003', 'forbidden'], // it takes another person
  ['DB004', 'incomplete'],
  ['DB005', 'wrong_state'],
  ['DB006', 'conflict'],
]);

/** PostgreSQL's integrity errors that no service has reported in its own words (PostgreSQL 18, appendix A, class 23). */
const INTEGRITY = /^23/;

const HOW_TO_FIND_OUT =
  'The connection to the database broke while the write was being committed: it was made either completely or not at all. Read the record to see, or send the same again: an identical PUT answers "unchanged" if it was made, and a POST with the same Idempotency-Key gets the answer of the first.';

const words = (name = ''): string => name.replaceAll('_', ' ');

/** The rule in words; where PostgreSQL gives no more, by the names of table and constraint. */
const integrityProblem = ({ state, message }: SqlError): ProblemError => {
  const [table, rule, other] = [...message.matchAll(/"([^"]+)"/g)].map(([, name]) => words(name));
  switch (state) {
    case '23505':
      return new ProblemError('exists', `another record has the same key (rule: ${table ?? 'unique'})`);
    case '23P01':
      return new ProblemError('overlap', `it overlaps a record that exists (rule: ${table ?? 'exclusion'})`);
    case '23001': // like 23503, for references declared RESTRICT, from PostgreSQL 18 on
    case '23503':
      return message.startsWith('update or delete')
        ? new ProblemError(
            'in_use',
            `this ${table ?? 'record'} is still used by a record of kind ${other ?? 'unknown'}`,
          )
        : new ProblemError(
            'conflict',
            `the ${table ?? 'record'} refers to something that does not exist (rule: ${rule ?? 'reference'})`,
          );
    default:
      return new ProblemError(
        'conflict',
        `a value of the ${table ?? 'record'} is out of range${rule === undefined ? '' : ` (rule: ${rule})`}`,
      );
  }
};

const fromDatabase = (error: unknown): ProblemError | undefined => {
  if (error instanceof OutcomeUnknown) return new ProblemError('outcome_unknown', HOW_TO_FIND_OUT);
  const sql = sqlErrorOf(error);
  const rule = sql && RULES.get(sql.state);
  if (rule) return new ProblemError(rule, sql.message);
  if (sql && INTEGRITY.test(sql.state)) return integrityProblem(sql);
  return isUnavailable(error)
    ? new ProblemError('unavailable', 'The database cannot answer now; nothing was written. Try again.')
    : undefined;
};

const statusOf = (error: unknown): number => {
  if (error instanceof HttpException) return error.getStatus();
  const { statusCode } = error as { statusCode?: unknown };
  return typeof statusCode === 'number' ? statusCode : 500;
};

/** Fastify has no parser for the body; routes that take forms or lines have refused it with their own message. */
const isOtherType = (error: unknown): error is Error =>
  (error as { code?: unknown }).code === 'FST_ERR_CTP_INVALID_MEDIA_TYPE';

/** Converts any failure to a problem that can be reported; internal ones become `internal`. */
export const toProblemError = (error: unknown): ProblemError => {
  if (error instanceof ProblemError) return error;
  const known = fromDatabase(error);
  if (known) return known;
  const status = statusOf(error);
  if (status >= 500 && status !== 503)
    return new ProblemError('internal', 'The service failed; see its log.');
  if (isOtherType(error))
    return new ProblemError(
      'unsupported_media_type',
      `This address accepts the content type ${JSON_TYPE} only.`,
    );
  return new ProblemError(CODES.get(status) ?? 'malformed', (error as Error).message);
};
