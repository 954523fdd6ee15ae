import { ProblemError, type ProblemCode } from './problem.js';
import { toProblemError } from './to-problem.js';

/**
 * Runs a write. A refusal with that code, by a rule of the database, is reported at the fields of the body that the rule is about.
 * @param fields  their names and what was sent; none: the refusal stays as it is
 * @param explain  the refusal in other words
 */
export const refusedAt = async <T>(
  code: ProblemCode,
  fields: object,
  write: () => Promise<T>,
  explain: (detail: string) => string | Promise<string> = (detail) => detail,
): Promise<T> => {
  try {
    return await write();
  } catch (error) {
    const problem = toProblemError(error);
    const entries = Object.entries(fields);
    if (problem.code !== code || problem.faults.length > 0 || entries.length === 0) throw error;
    const detail = await explain(problem.message);
    throw new ProblemError(
      code,
      detail,
      entries.map(([name, value]) => ({ in: 'body', pointer: `/${name}`, value: value ?? null, detail })),
    );
  }
};
