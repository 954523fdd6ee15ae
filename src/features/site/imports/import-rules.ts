import { type Fault, faulty } from '../../../common/api/problem.js';
import type { Kind } from './kinds.service.js';
import type { ImportMode, ImportRules } from './run-import.js';

const at = (name: string, value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer: `/${name}`,
  value,
  detail,
});

/** @throws ProblemError invalid for a rule that is invalid or does not apply to the kind */
export const assertRules = (
  { kind, together, members }: Kind,
  mode: ImportMode,
  { replace = false, closeGaps }: ImportRules,
): void => {
  const faults: Fault[] = [];
  if (!together && members?.key === undefined && replace)
    faults.push(at('replace', replace, `${kind} takes no replace: it is for strokes and bill-items`));
  if (!together && closeGaps !== undefined)
    faults.push(at('closeGaps', closeGaps, `${kind} takes no closeGaps: it is for strokes`));
  if (together && replace && mode === 'valid-rows')
    faults.push(
      at(
        'replace',
        replace,
        'replace takes a table whole: a row that is rejected would remove what it names',
      ),
    );
  if (faults.length > 0) throw faulty('invalid', faults);
  together?.assertRules({ replace, closeGaps, validRows: mode === 'valid-rows' });
};
