import type { Fault } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';
import type { RevisionInput } from './revision.models.js';

/** The moment whose production day decides what is in force; null: now. */
export const momentAsked = (): string | null => {
  const { asOf } = scope();
  return asOf && 'instant' in asOf ? asOf.instant : null;
};

/**
 * SQL for the days of a dated row, and whether it is the one in force.
 * @param row  alias of the row
 * @param series  what the revisions of one thing have in common
 * @param moment  the parameter for momentAsked()
 */
export const datedReads = (row: string, series: string, moment: string) => {
  const next = `lead(${row}.valid_from) over (partition by ${series} order by ${row}.valid_from nulls first)`;
  const today = `(select production_day(coalesce(${moment}::timestamptz, now()), p.time_zone, p.day_start) from project p where p.id = scope_project())`;
  return {
    validUntil: `(${next} - 1)::text`,
    validFrom: `${row}.valid_from::text`,
    isInForce: `(${row}.valid_from is null or ${row}.valid_from <= ${today}) and coalesce(${next} > ${today}, true)`,
  };
};

/** From the revisions of one thing, in order: the one in force, otherwise the first future one. */
export const governing = <T extends { isInForce: boolean }>(revisions: readonly T[]): T | undefined =>
  revisions.find(({ isInForce }) => isInForce) ?? revisions[0];

/**
 * The faults of a revision to be put.
 * @param named  SQL for the valid_from of revisions of the same thing with this name, as text; $2 is the name
 */
export const revisionFaults = async (
  statements: Statements,
  { validFrom, revision }: RevisionInput,
  named: string,
  ...of: unknown[]
): Promise<Fault[]> => {
  const fault = { in: 'body', pointer: '/revision', value: revision } as const;
  if (revision == null)
    return validFrom == null
      ? []
      : [{ ...fault, detail: 'revision is missing: with validFrom, revision is required' }];
  const rows = await readRows<{ since: string | null }>(statements, named, revision, ...of);
  return rows
    .filter(({ since }) => since !== (validFrom ?? null))
    .map(({ since }) => ({
      ...fault,
      detail: `revision ${revision} exists already, valid from ${since ?? 'the beginning'}`,
    }));
};
