import { Injectable } from '@nestjs/common';
import { ProblemError } from '../../../common/api/problem.js';
import { analyseGrown } from '../../../common/database/analyse.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { JsonText } from '../../../common/database/json-rows.js';
import { keepAwake } from '../../../common/database/keep-awake.js';
import { declaredIn, type DeclaredTableForm } from '../../../common/files/table/form.model.js';
import { Workers } from '../../../common/work/workers.js';
import { readImportDoubts } from '../doubts/read-doubts.js';
import { lockedContextText } from './import-context.js';
import { readCloseGaps } from './import-gaps.js';
import { PLAN, type PlanInput, type Planned, READ } from './import-job.js';
import type { StrokeImportReport } from './import-report.model.js';
import { storeImport } from './import-store.js';

/** How a table is read and taken, as text where people write it. */
export interface ImportOptions extends DeclaredTableForm {
  map: string;
  dryRun?: boolean;
  /** [m] */
  closeGaps?: string;
  replace?: boolean;
}

type Report = JsonText<StrokeImportReport>;

const MOST_DOUBTS = 100;

/** The report of a thread, which is JSON already, with what the database doubts of the strokes. */
const withDoubts = (report: string, doubts: Pick<StrokeImportReport, 'doubted' | 'doubts'>): Report =>
  new JsonText(`${report.slice(0, -1)},${JSON.stringify(doubts).slice(1)}`);

/** A table that was refused: the problem reports the faults, the report every row. */
export class ImportRefused extends ProblemError {
  constructor(
    { code, detail, faults }: NonNullable<Planned['refusal']>,
    readonly report: Report,
  ) {
    super(code, detail, faults);
  }
}

/**
 * Takes a table of strokes, whole or not at all. The strokes stand on the drive without a shift: they count for its
 * metres, and for no shift's minutes. Safe to repeat: a stroke that stands as the table has it is left alone.
 */
@Injectable()
export class StrokeImportService {
  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
  ) {}

  /**
   * @throws ImportRefused with the report when a row is rejected, unless it is a dry run
   * @throws ProblemError for a map, an option or a file that cannot be read; not_found for the drive
   */
  async take(
    drive: string,
    file: Uint8Array,
    { map, dryRun = false, closeGaps, replace = false, ...declared }: ImportOptions,
  ): Promise<Report> {
    const closeGapsMm = readCloseGaps(closeGaps);
    const table = await this.workers.run(READ, { file, map, ...declaredIn(declared) });
    const report = await this.database.atomicUnlessDry(dryRun, (transaction) =>
      this.takeTable(transaction, drive, { table, closeGapsMm, replace, dryRun }),
    );
    if (!dryRun) await analyseGrown(this.database);
    return report;
  }

  private async takeTable(
    transaction: Transaction,
    drive: string,
    rules: Omit<PlanInput, 'context'>,
  ): Promise<Report> {
    const { driveId, context } = await lockedContextText(transaction, drive);
    const planned = this.workers.run(PLAN, { ...rules, context });
    const { report, refusal, leaving, strokes } = await keepAwake(transaction, planned);
    if (refusal) {
      const reported = withDoubts(report, { doubted: 0, doubts: [] });
      if (!rules.dryRun) throw new ImportRefused(refusal, reported);
      return reported;
    }
    await storeImport(transaction, driveId, leaving, strokes);
    return withDoubts(report, await readImportDoubts(transaction, driveId, MOST_DOUBTS));
  }
}
