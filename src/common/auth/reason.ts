import { applyDecorators } from '@nestjs/common';
import { ValidateBy } from 'class-validator';
import type { FastifyRequest } from 'fastify';
import { type FieldOptions, TextField } from '../api/fields.js';
import { faulty } from '../api/problem.js';
import { saysSomething } from '../api/rules.js';

/** The header for the reason; text other than plain ASCII is percent-encoded. */
export const REASON_HEADER = 'x-reason';

const MAX_LENGTH = 500;
const RULE = `must be 1 to ${MAX_LENGTH} characters in one line`;

const isReason = (text: unknown): boolean =>
  typeof text === 'string' &&
  saysSomething(text) &&
  text.length <= MAX_LENGTH &&
  !/[\u0000-\u001f]/.test(text);

/** A required reason. */
export const ReasonField = (options: FieldOptions): PropertyDecorator =>
  applyDecorators(
    TextField({ ...options, maxLength: MAX_LENGTH }),
    ValidateBy({ name: 'isReason', validator: { validate: isReason } }, { message: `$property ${RULE}` }),
  );

/** The reason for the request, for the history. @throws ProblemError invalid when it cannot be decoded */
export const reasonOf = ({ headers }: FastifyRequest): string | undefined => {
  const given = headers[REASON_HEADER];
  if (typeof given !== 'string' || given.trim() === '') return undefined;
  try {
    const reason = decodeURIComponent(given).trim();
    if (isReason(reason)) return reason;
  } catch {
    // reported below
  }
  const detail = `X-Reason ${RULE}, percent-encoded UTF-8`;
  throw faulty('invalid', [{ in: 'header', pointer: '/X-Reason', value: given.slice(0, 100), detail }]);
};
