import type { ProblemCode } from '../../../common/api/problem.js';
import { lockWriters } from '../../../common/api/preconditions.interceptor.js';
import type { Database } from '../../../common/database/database.js';
import type { GivenRow, GivenTable, TakenTable } from '../../../common/imports/together.js';
import type { KindTogether } from './kinds.service.js';
import { cellIn, type ImportRow, type TableRecord } from './table-rows.js';
import { type ImportContext, type ImportResult, type ImportWatch, TAKEN_BACK } from './run-import.js';

/** A row as read; faults other than those of cells are the reason why it cannot be read. */
const givenOf = (row: ImportRow): GivenRow => ({
  line: row.line,
  cells: row.cells,
  broken: row.faults.find(({ field }) => cellIn(row, field)?.fault === undefined)?.detail,
});

const tableOf = (rows: readonly ImportRow[]): GivenTable => ({
  fields: [...(rows[0]?.fields ?? [])],
  rows: rows.map(givenOf),
});

const recordOf = (row: ImportRow, { outcome, changes }: TakenTable['rows'][number]): TableRecord[] =>
  outcome === 'rejected' ? [] : [{ keys: {}, rows: [row], outcome, changes }];

/** Applies rows that are validated together to the record, in one transaction. @throws ProblemError for faults that belong to no row */
export const runTogether = async (
  database: Database,
  { kind: { together }, place, mode, dryRun, rules }: ImportContext & { kind: KindTogether },
  { signal }: ImportWatch,
  rows: ImportRow[],
): Promise<ImportResult> => {
  const table = tableOf(rows);
  const all = {
    replace: rules?.replace ?? false,
    closeGaps: rules?.closeGaps,
    validRows: mode === 'valid-rows',
  };
  let taken: TakenTable | undefined;
  try {
    await database.held(async (send) => {
      await lockWriters(send, place);
      signal?.throwIfAborted();
      taken = await together.take(place['drive'] ?? '', table, all);
      if (dryRun) throw TAKEN_BACK; // if it is refused whole, it has written nothing
      return () => Promise.resolve();
    });
  } catch (error) {
    if (error !== TAKEN_BACK) throw error;
  }
  return resultOf(rows, taken);
};

const resultOf = (rows: ImportRow[], taken: TakenTable | undefined): ImportResult => {
  const { rows: found = [], removed = 0, code = 'invalid' as ProblemCode, ...more } = taken ?? {};
  const records = rows.flatMap((row, index) => {
    const result = found[index];
    if (!result) return [];
    Object.assign(row, { key: result.key, faults: result.faults, notes: result.notes });
    return recordOf(row, result);
  });
  return { ...more, rows, records, code, removed };
};
