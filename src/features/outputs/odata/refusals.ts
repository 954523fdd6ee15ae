import { faulty, ProblemError } from '../../../common/api/problem.js';

/** The error for an invalid query option. */
export const optionFault = (name: string, detail: string, value?: unknown): ProblemError =>
  faulty('invalid', [
    { in: 'query', pointer: `/${name}`, ...(value !== undefined && { value }), detail: `${name} ${detail}` },
  ]);

/** The error for a part of OData that the feed does not support. */
export const notCarriedOut = (what: string): ProblemError =>
  new ProblemError('not_implemented', `The feed does not have ${what}. What it has: docs/guide/odata.md.`);
