import { Injectable } from '@nestjs/common';
import { firstOf, type Fault, MOST_FAULTS, ProblemError, shown } from '../../../common/api/problem.js';
import { Resources } from '../../../common/api/resources.js';
import { Database } from '../../../common/database/database.js';
import { declaredIn, type TableReading } from '../../../common/files/table/form.model.js';
import { unpacked } from '../../../common/work/packed.js';
import { Workers } from '../../../common/work/workers.js';
import { type ImportForm, ImportOutcome, type ImportReport, type ImportRowReport } from './import.models.js';
import { type Kind, Kinds } from './kinds.service.js';
import { READ_IMPORT, type ReadTable } from './read-job.js';
import { type ImportRow, type RowFault, rowOf, type TableRecord } from './records.js';
import { ImportRun, type ImportResult, type ImportWatch } from './run-import.js';

export type ImportOptions = Omit<ImportForm, 'file'>;

/** A table that was refused whole: the problem reports the faults, the report every row. */
export class ImportRefused extends ProblemError {
  constructor(
    { code, detail, faults }: { code: ProblemError['code']; detail: string; faults: Fault[] },
    readonly report: ImportReport,
  ) {
    super(code, detail, faults);
  }
}

/** Takes tables of any kind of record. Safe to repeat: a record that stands as the table has it is left alone. */
@Injectable()
export class ImportsService {
  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
    private readonly resources: Resources,
    private readonly kinds: Kinds,
  ) {}

  /**
   * @param place  project, and the drive of a kind that has one
   * @throws ImportRefused with the report when a row is rejected, unless it is a dry run or the mode is valid-rows
   * @throws ProblemError for a map, an option or a file that cannot be read; not_found for the kind or the drive
   */
  async take(
    kindName: string,
    place: Record<string, string>,
    file: Uint8Array,
    { dryRun = false, mode = 'whole', allRows = false, map, ...declared }: ImportOptions,
    watch: ImportWatch = {},
  ): Promise<ImportReport> {
    const kind = this.kinds.of(kindName);
    const table = await this.read(kind, file, map, declared);
    const rows = (await unpacked(table.rows)).map((row) => rowOf(row, table.fields));
    const run = new ImportRun(this.database, this.resources, { kind, place, dryRun, mode }, watch);
    const result = await run.run(rows);
    const report = reportOf(kind, table, result, dryRun, allRows || mode === 'whole');
    if (report.rejected > 0 && mode === 'whole' && !dryRun) throw refusalOf(result, report);
    return allRows ? report : { ...report, rows: telling(report.rows) };
  }

  private read(
    { columns, rows }: Kind,
    file: Uint8Array,
    map: string | undefined,
    declared: Omit<ImportOptions, 'map'>,
  ): Promise<ReadTable> {
    return this.workers.run(READ_IMPORT, {
      file,
      map,
      rows,
      columns: columns.map(({ field, type, unit, part }) => ({ field, type, unit, isKey: part === 'key' })),
      ...declaredIn(declared),
    });
  }
}

/** Rows that say more than their count. */
const telling = (rows: ImportRowReport[]): ImportRowReport[] =>
  rows
    .filter(({ outcome }) => outcome === ImportOutcome.rejected || outcome === ImportOutcome.updated)
    .slice(0, MOST_FAULTS);

const textOf = (value: unknown): string | undefined => {
  if (value == null) return undefined;
  return typeof value === 'object' ? JSON.stringify(value).slice(0, 100) : String(shown(value));
};

const reportOf = (
  { kind }: Kind,
  { forms, ignored }: ReadTable,
  { rows, records }: ImportResult,
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
        outcome === ImportOutcome.updated && record && row === first
          ? record.changes.map(({ field, from, to }) => ({ field, from: textOf(from), to: textOf(to) }))
          : [],
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
    rows: all ? reported : telling(reported),
  };
};

/** A record is written whole or not at all: a row beside one at fault is rejected with it. */
const outcomeOf = ({ faults }: ImportRow, record: TableRecord | undefined): ImportOutcome => {
  if (faults.length > 0 || record === undefined) return ImportOutcome.rejected;
  const isBroken = record.rows.some((row) => row.faults.length > 0);
  return isBroken || record.outcome === undefined ? ImportOutcome.rejected : ImportOutcome[record.outcome];
};

/** The faults of a row; of one that has none, the row of its record that has. */
const faultsIn = (row: ImportRow, record: TableRecord | undefined, outcome: ImportOutcome): RowFault[] => {
  if (outcome !== ImportOutcome.rejected || row.faults.length > 0) return row.faults;
  const broken = record?.rows.find(({ faults }) => faults.length > 0);
  return [{ field: '', detail: `rejected with row ${broken?.line ?? ''}, which is of the same record` }];
};

const refusalOf = ({ rows, code }: ImportResult, report: ImportReport): ImportRefused => {
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
