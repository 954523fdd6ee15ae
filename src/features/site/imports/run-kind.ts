import type { Resources } from '../../../common/api/resources.js';
import type { Database } from '../../../common/database/database.js';
import type { Kind } from './kinds.service.js';
import { faultsKept, type ImportRow, kindOfRow } from './table-rows.js';
import {
  type ImportContext,
  type ImportResult,
  ImportRun,
  type ImportWatch,
  TAKEN_BACK,
} from './run-import.js';
import { runTogether } from './together-run.js';

/** Applies the rows of a table to the record, in the way of their kind. @throws ProblemError for faults that belong to no row */
export const runKind = (
  database: Database,
  resources: Resources,
  context: ImportContext,
  watch: ImportWatch,
  rows: ImportRow[],
): Promise<ImportResult> => {
  const parts = partsOf(context.kind, rows);
  const [first] = parts;
  return first && parts.length === 1
    ? runRows(database, resources, { ...context, kind: first.kind }, watch, rows)
    : runParts(database, resources, context, watch, parts, rows);
};

const runRows = (
  database: Database,
  resources: Resources,
  { kind, ...context }: ImportContext,
  watch: ImportWatch,
  rows: ImportRow[],
): Promise<ImportResult> =>
  kind.together
    ? runTogether(database, { ...context, kind }, watch, rows)
    : new ImportRun(database, resources, { ...context, kind }, watch).run(rows);

interface KindPart {
  kind: Kind;
  rows: ImportRow[];
}

/** The rows of each kind; first those with a value in the column that distinguishes the kinds, as what the others show may depend on them. */
const partsOf = (kind: Kind, rows: ImportRow[]): KindPart[] => {
  const { others } = kind;
  if (!others) return [{ kind, rows }];
  const parts = [others.kind(), kind].map((each) => ({
    kind: each,
    rows: rows.filter((row) => kindOfRow(kind, row) === each),
  }));
  return (others.filled ? parts : parts.reverse()).filter((part) => part.rows.length > 0);
};

/** Applies the rows of several kinds in one transaction. */
const runParts = async (
  database: Database,
  resources: Resources,
  context: ImportContext,
  watch: ImportWatch,
  parts: readonly KindPart[],
  rows: ImportRow[],
): Promise<ImportResult> => {
  const forget = faultsKept(rows);
  let results: ImportResult[] = [];
  try {
    await database.held(async () => {
      forget();
      results = [];
      for (const part of parts)
        results.push(
          await runRows(
            database,
            resources,
            { ...context, kind: part.kind, dryRun: false },
            watch,
            part.rows,
          ),
        );
      const isRefused = context.mode === 'whole' && rows.some(({ faults }) => faults.length > 0);
      if (context.dryRun || isRefused) throw TAKEN_BACK;
      return () => Promise.resolve();
    });
  } catch (error) {
    if (error !== TAKEN_BACK) throw error;
  }
  const codes = [
    ...new Set(
      results.filter(({ rows: of }) => of.some(({ faults }) => faults.length > 0)).map(({ code }) => code),
    ),
  ];
  return {
    rows,
    records: results.flatMap(({ records }) => records),
    removed: results.reduce((sum, { removed = 0 }) => sum + removed, 0),
    code: codes.length === 1 && codes[0] !== undefined ? codes[0] : 'invalid',
  };
};
