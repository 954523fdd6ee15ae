import { firstOf, type Fault, MOST_FAULTS, ProblemError, shown } from '../../../common/api/problem.js';
import type { TableReading } from '../../../common/files/table/form.model.js';
import type { RecordDoubt } from '../../driving/doubts/doubt.models.js';
import { ImportOutcome, type ImportReport, type ImportRowReport } from './import.models.js';
import type { Kind } from './kinds.service.js';
import type { ReadTable } from './read-job.js';
import type { ImportRow, RowFault, TableRecord } from './table-rows.js';
import type { ImportResult } from './run-import.js';

/** A table refused as a whole: the problem lists the faults, the report every row. */
export class ImportRefused extends ProblemError {
  constructor(
    { code, detail, faults }: { code: ProblemError['code']; detail: string; faults: Fault[] },
    readonly report: ImportReport,
  ) {
    super(code, detail, faults);
  }
}

/** Rows worth listing individually. */
export const telling = (rows: ImportRowReport[]): ImportRowReport[] =>
  rows
    .filter(
      ({ outcome, notes }) =>
        outcome === ImportOutcome.rejected || outcome === ImportOutcome.updated || notes.length > 0,
    )
    .slice(0, MOST_FAULTS);

const textOf = (value: unknown): string | undefined => {
  if (value == null) return undefined;
  return typeof value === 'object' ? JSON.stringify(value).slice(0, 100) : String(shown(value));
};

export const reportOf = (
  { kind }: Kind,
  { forms, ignored }: Pick<ReadTable, 'forms' | 'ignored'>,
  { rows, records, removed = 0, passedOver = 0, lengthM, doubted, doubts = [] }: ImportResult,
  dryRun: boolean,
  all: boolean,
): ImportReport => {
  const recordOf = new Map(records.flatMap((record) => record.rows.map((row) => [row, record] as const)));
  const counts = { created: 0, unchanged: 0, updated: 0, rejected: 0 };
  const reported = rows.map((row): ImportRowReport => {
    const record = recordOf.get(row);
    const outcome = outcomeOf(row, record);
    counts[outcome] += 1;
    const [first] = record?.rows ?? [];
    return {
      line: row.line,
      key: row.key,
      outcome,
      faults: faultsIn(row, record, outcome).map(({ field, value, detail }) => ({
        field,
        value: textOf(value),
        detail,
      })),
      changes:
        outcome === ImportOutcome.updated && record
          ? [...(row === first ? record.changes : []), ...(row.changes ?? [])].map(({ field, from, to }) => ({
              field,
              from: textOf(from),
              to: textOf(to),
            }))
          : [],
      notes: row.notes ?? [],
    };
  });
  const read: TableReading = forms;
  return {
    kind,
    dryRun,
    read,
    ignored,
    rowCount: rows.length,
    ...counts,
    removed,
    passedOver,
    lengthM,
    doubted,
    doubts: doubts as RecordDoubt[],
    rows: all ? reported : telling(reported),
  };
};

/** A record is written as a whole or not at all: one faulty row rejects the other rows of its record. */
const outcomeOf = ({ faults, outcome: own }: ImportRow, record: TableRecord | undefined): ImportOutcome => {
  if (faults.length > 0 || record === undefined) return ImportOutcome.rejected;
  const isBroken = record.rows.some((row) => row.faults.length > 0);
  if (isBroken || record.outcome === undefined) return ImportOutcome.rejected;
  return ImportOutcome[record.outcome === 'unchanged' ? 'unchanged' : (own ?? record.outcome)];
};

/** The faults of a row; for a row without any, a pointer to the faulty row of its record. */
const faultsIn = (row: ImportRow, record: TableRecord | undefined, outcome: ImportOutcome): RowFault[] => {
  if (outcome !== ImportOutcome.rejected || row.faults.length > 0) return row.faults;
  const broken = record?.rows.find(({ faults }) => faults.length > 0);
  return [{ field: '', detail: `rejected with row ${broken?.line ?? ''}, which is of the same record` }];
};

export const refusalOf = ({ rows, code }: ImportResult, report: ImportReport): ImportRefused => {
  const faults = rows.flatMap(({ line, faults: found }, index) =>
    found.map(({ field, value, detail }): Fault => ({
      in: 'body',
      pointer: `/rows/${index}${field === '' ? '' : `/${field}`}`,
      value,
      detail: `line ${line}: ${detail}`,
    })),
  );
  const detail = `${report.rejected} of ${rows.length} rows rejected, nothing was written; see errors${firstOf(faults.length)}`;
  return new ImportRefused({ code: code === 'not_found' ? 'invalid' : code, detail, faults }, report);
};
