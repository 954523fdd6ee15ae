import type { Resources } from '../../../common/api/resources.js';
import type { Database } from '../../../common/database/database.js';
import type { ImportRow } from './records.js';
import { type ImportContext, type ImportResult, ImportRun, type ImportWatch } from './run-import.js';
import { runTogether } from './together-run.js';

/** Applies the rows of a table to the record, in the way of their kind. @throws ProblemError for faults that belong to no row */
export const runKind = (
  database: Database,
  resources: Resources,
  { kind, ...context }: ImportContext,
  watch: ImportWatch,
  rows: ImportRow[],
): Promise<ImportResult> =>
  kind.together
    ? runTogether(database, { ...context, kind }, watch, rows)
    : new ImportRun(database, resources, { ...context, kind }, watch).run(rows);
