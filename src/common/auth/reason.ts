import type { FastifyRequest } from 'fastify';
import { faulty } from '../api/problem.js';

/** The header that says why; its text is percent-encoded where it is not plain ASCII. */
export const REASON_HEADER = 'x-reason';

const MAX_LENGTH = 500;

/** Why the request is made, for the history. @throws ProblemError invalid when it cannot be read */
export const reasonOf = ({ headers }: FastifyRequest): string | undefined => {
  const given = headers[REASON_HEADER];
  if (typeof given !== 'string' || given.trim() === '') return undefined;
  try {
    const reason = decodeURIComponent(given).trim();
    if (reason.length <= MAX_LENGTH && !/[\u0000-\u001f]/.test(reason)) return reason;
  } catch {
    // told below
  }
  const detail = `X-Reason must be at most ${MAX_LENGTH} characters in one line, percent-encoded UTF-8`;
  throw faulty('invalid', [{ in: 'header', pointer: '/X-Reason', value: given.slice(0, 100), detail }]);
};
