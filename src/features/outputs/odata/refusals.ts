import { faulty, ProblemError } from '../../../common/api/problem.js';

/** A query option that breaks a rule. */
export const optionFault = (name: string, detail: string, value?: unknown): ProblemError =>
  faulty('invalid', [
    { in: 'query', pointer: `/${name}`, ...(value !== undefined && { value }), detail: `${name} ${detail}` },
  ]);

/** Part of OData that the feed does not have. */
export const notCarriedOut = (what: string): ProblemError =>
  new ProblemError('not_implemented', `The feed does not have ${what}. What it has: docs/guide/odata.md.`);
