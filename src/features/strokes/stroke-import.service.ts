import { Injectable } from '@nestjs/common';
import { type Fault, ProblemError } from '../../common/api/problem.js';
import { Database, type Transaction } from '../../common/database/database.js';
import { metresText } from '../../engineering/chainage.js';
import { lockedImportContext } from './import-context.js';
import { readCloseGaps } from './import-gaps.js';
import { type Columns, placeColumns, readMap } from './import-map.js';
import { type ImportPlan, planImport } from './import-plan.js';
import { RowOutcome, type StrokeImportReport } from './import-report.model.js';
import { type ImportRow, placeWords, readRowsOf } from './import-rows.js';
import { storeImport, valuedStrokes } from './import-store.js';
import { readDelimiter, readTable, type StrokeTable } from './import-table.js';

/** How a table is read and taken, as text where people write it. */
export interface ImportOptions {
  map: string;
  dryRun?: boolean;
  /** [m] */
  closeGaps?: string;
  replace?: boolean;
  delimiter?: string;
}

interface Settings {
  columns: Columns;
  closeGapsMm: number;
  replace: boolean;
  dryRun: boolean;
}

/** Most faults told in one answer; a dry run reports every row. */
const MOST_FAULTS = 1000;

/** A table that was refused: the problem tells the faults, the report every row. */
export class ImportRefused extends ProblemError {
  constructor(
    readonly report: StrokeImportReport,
    rows: ImportRow[],
  ) {
    const faults = rows.flatMap((row, index) => row.faults.map((fault) => ({ ...fault, index })));
    const wrongInItself = faults.some(({ conflict }) => !conflict);
    const most = faults.length > MOST_FAULTS ? `, the first ${MOST_FAULTS} of ${faults.length} faults` : '';
    super(
      wrongInItself ? 'invalid' : 'conflict',
      `${report.rejected} of ${rows.length} rows rejected, nothing was written; see errors${most}`,
      faults.slice(0, MOST_FAULTS).map(({ index, field, value, detail }): Fault => ({
        in: 'body',
        pointer: `/rows/${index}${field === '' ? '' : `/${field}`}`,
        value,
        detail,
      })),
    );
  }
}

/**
 * Takes a table of strokes, whole or not at all. The strokes stand on the drive without a shift: they count for its
 * metres, and for no shift's minutes. Safe to repeat: a stroke that stands as the table has it is left alone.
 */
@Injectable()
export class StrokeImportService {
  constructor(private readonly database: Database) {}

  /**
   * @throws ImportRefused with the report when a row is rejected, unless it is a dry run
   * @throws ProblemError for a map, an option or a file that cannot be read; not_found for the drive
   */
  async take(
    drive: string,
    file: Buffer,
    { map, dryRun = false, closeGaps, replace = false, delimiter }: ImportOptions,
  ): Promise<StrokeImportReport> {
    const closeGapsMm = readCloseGaps(closeGaps);
    const fields = readMap(map);
    const table = readTable(file, readDelimiter(delimiter));
    const settings = { columns: placeColumns(fields, table.headings), closeGapsMm, replace, dryRun };
    return this.database.atomicUnlessDry(dryRun, (transaction) =>
      this.takeTable(transaction, drive, table, settings),
    );
  }

  private async takeTable(
    transaction: Transaction,
    drive: string,
    table: StrokeTable,
    { columns, dryRun, ...rules }: Settings,
  ): Promise<StrokeImportReport> {
    const context = await lockedImportContext(transaction, drive);
    const words = placeWords(columns, context.frame);
    const plan = planImport(readRowsOf(table, columns, context.frame, words), context, rules, words);
    const strokes = valuedStrokes(plan.rows, context.machine);
    const report = reportOf(plan, dryRun);
    if (report.rejected === 0) await storeImport(transaction, context, plan, strokes);
    else if (!dryRun) throw new ImportRefused(report, plan.rows);
    return report;
  }
}

const outcomeOf = ({ faults, outcome }: ImportRow): RowOutcome =>
  faults.length > 0 ? RowOutcome.rejected : RowOutcome[outcome];

const reportOf = ({ rows, leaving }: ImportPlan, dryRun: boolean): StrokeImportReport => {
  const counts = { [RowOutcome.created]: 0, [RowOutcome.unchanged]: 0, [RowOutcome.rejected]: 0 };
  let takenMm = 0;
  const told = rows.map((row) => {
    const outcome = outcomeOf(row);
    counts[outcome] += 1;
    if (row.stroke && outcome !== RowOutcome.rejected) takenMm += row.stroke.toMm - row.stroke.fromMm;
    const words = outcome === RowOutcome.rejected ? row.faults.map(({ detail }) => detail) : row.notes;
    return {
      line: row.line,
      number: row.number ?? undefined,
      outcome,
      detail: words.length > 0 ? words.join('; ') : undefined,
    };
  });
  return { dryRun, rows: told, ...counts, removed: leaving.length, metres: metresText(takenMm) };
};
