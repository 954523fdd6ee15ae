import { setTimeout as pause } from 'node:timers/promises';
import { Injectable } from '@nestjs/common';
import { lockWriters } from '../../../common/api/preconditions.interceptor.js';
import { notFound, ProblemError } from '../../../common/api/problem.js';
import { Resources } from '../../../common/api/resources.js';
import { toProblemError } from '../../../common/api/to-problem.js';
import { analyseGrown } from '../../../common/database/analyse.js';
import { Database } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { Workers } from '../../../common/work/workers.js';
import { batchesOf } from './batches.js';
import type { ImportOptions } from './imports.service.js';
import type { ImportCounts, ImportReport, ImportRowReport } from './import.models.js';
import { assertRules } from './import-rules.js';
import { reportOf, telling } from './import-report.js';
import { asRead, type Kind, Kinds, readable } from './kinds.service.js';
import { MANY, MOST_WHOLE_ROWS } from './limits.js';
import { assertReadable, type LargeFile, type LargeTable, openLarge } from './large-table.js';
import type { ImportRow } from './table-rows.js';
import { ReportFile } from './report-file.js';
import type { ImportContext, ImportMode, ImportRules } from './run-import.js';
import { runKind } from './run-kind.js';

/** Attempts at a batch while the database is busy or unavailable, and the delay in between. [ms] */
const TRIES = 5;
const PAUSE_MS = 2000;

const BUSY = new Set([429, 503, 504]);

/** Thrown to roll back what a dry run, or an import refused as a whole, wrote. */
const TAKEN_BACK = new Error('taken back');

export type LargeOptions = Omit<ImportOptions, 'allRows'>;

/** The result of a large import; its rows are in a file. */
export interface LargeOutcome extends ImportCounts {
  kind: string;
  mode: ImportMode;
  dryRun: boolean;
  /** whether anything was written */
  isWritten: boolean;
  read: TableForms;
  ignored: string[];
  rowCount: number;
  /** number of records removed because the table lacks them */
  removed: number;
  /** number of rows with titles and totals */
  passedOver: number;
  /** as in the report of a small import; record-doubts of the drive has the doubts */
  doubted?: number;
}

export interface LargeWatch {
  /** @param done  number of rows */
  progress?: (done: number, outcome: LargeOutcome) => void;
  /** receives the first rows that are rejected or updated */
  tell?: (rows: ImportRowReport[]) => void;
  signal?: AbortSignal;
}

/** The import of a table on disk. */
export interface LargeImport {
  kind: string;
  /** project, and drive for a kind that belongs to one */
  place: Record<string, string>;
  path: string;
  options: LargeOptions;
}

interface Opened {
  kind: Kind;
  table: LargeTable;
  mode: ImportMode;
  dryRun: boolean;
  rules: ImportRules;
}

const DRIVE = `select code from drive where code = $1`;

/** Imports tables of any length from files: rows are read, written and reported in batches. Safe to repeat. */
@Injectable()
export class LargeImports {
  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
    private readonly resources: Resources,
    private readonly kinds: Kinds,
  ) {}

  /**
   * Checks what the beginning of its table shows of an import.
   * @throws ProblemError for an invalid map, option or file; not_found for the kind or the drive
   */
  async assertReadable({ kind: name, place: { drive }, path, options }: LargeImport): Promise<void> {
    const kind = this.kinds.of(name);
    if (drive !== undefined && (await this.database.read(DRIVE, drive)).length === 0)
      throw notFound(`drive ${drive} in project ${scope().project}`);
    assertRules(kind, options.mode ?? 'whole', options);
    const fields = await assertReadable(fileOf(kind, path, options));
    if (fields) kind.together?.assertFields(fields);
  }

  /**
   * @param report  path for the report, a CSV with the outcome of each row
   * @throws ProblemError for an invalid map, option or file; not_found for the kind or the drive
   */
  async take(
    { kind: name, place, path, options }: LargeImport,
    report: string,
    watch: LargeWatch = {},
  ): Promise<LargeOutcome> {
    const { mode = 'whole', dryRun = false } = options;
    const asked = this.kinds.of(name);
    const { replace, closeGaps } = options;
    const rules = { replace, closeGaps };
    assertRules(asked, mode, rules);
    const table = await openLarge(fileOf(asked, path, options), this.workers, watch.signal);
    const kind = asRead(asked, table);
    kind.together?.assertFields(table.fields);
    const opened = { kind, table, mode, dryRun, rules };
    const outcome = await this.takeOpened(opened, place, report, watch);
    if (outcome.isWritten && outcome.created >= MANY) await analyseGrown(this.database);
    return outcome;
  }

  private async takeOpened(
    opened: Opened,
    place: Record<string, string>,
    report: string,
    watch: LargeWatch,
  ): Promise<LargeOutcome> {
    const { table, mode, dryRun } = opened;
    if (mode === 'valid-rows' && !dryRun) return this.bring(opened, place, report, watch);
    if (table.rowCount > MOST_WHOLE_ROWS)
      throw new ProblemError(
        'invalid',
        `The table has ${table.rowCount} rows. ${dryRun ? 'A dry run' : 'Mode whole'} takes at most ${MOST_WHOLE_ROWS}, as they are one transaction for which other writes wait: split the table, or use mode valid-rows${dryRun ? ' without dryRun' : ''}.`,
      );
    return this.together(opened, place, report, watch);
  }

  /** Imports everything in one transaction. */
  private async together(
    opened: Opened,
    place: Record<string, string>,
    report: string,
    watch: LargeWatch,
  ): Promise<LargeOutcome> {
    let outcome: LargeOutcome | undefined;
    try {
      await this.database.held(async (send) => {
        await lockWriters(send, place);
        outcome = await this.bring(opened, place, report, watch);
        if (opened.dryRun || outcome.rejected > 0) throw TAKEN_BACK;
        return () => Promise.resolve();
      });
    } catch (error) {
      if (error !== TAKEN_BACK || !outcome) throw error;
      return { ...outcome, isWritten: false };
    }
    return outcome as LargeOutcome;
  }

  private async bring(
    { kind, table, mode, dryRun, rules }: Opened,
    place: Record<string, string>,
    report: string,
    { progress, tell, signal }: LargeWatch,
  ): Promise<LargeOutcome> {
    const outcome: LargeOutcome = {
      ...{ kind: kind.kind, mode, dryRun, isWritten: false, read: table.forms, ignored: table.ignored },
      ...{ rowCount: table.rowCount, created: 0, unchanged: 0, updated: 0, rejected: 0 },
      ...{ removed: 0, passedOver: 0 },
    };
    const file = await ReportFile.open(report);
    let done = 0;
    try {
      const passOver = (): void => void (outcome.passedOver += 1);
      for await (const batch of batchesOf(kind, table, passOver)) {
        signal?.throwIfAborted();
        const { rows, removed, doubted } = await this.written(
          { kind, place, rules },
          batch,
          mode === 'whole' || dryRun,
          signal,
        );
        for (const { outcome: each } of rows) outcome[each] += 1;
        outcome.removed += removed;
        if (doubted !== undefined) outcome.doubted = doubted + (kind.together ? 0 : (outcome.doubted ?? 0));
        outcome.isWritten = !dryRun && outcome.created + outcome.updated + outcome.removed > 0;
        await file.write(rows);
        tell?.(telling(rows));
        done += batch.length;
        progress?.(done, { ...outcome });
      }
      await file.close();
    } catch (error) {
      file.abandon();
      throw error;
    }
    return outcome;
  }

  /** Writes a batch in its own transaction, or within the surrounding one. */
  private async written(
    of: Pick<ImportContext, 'kind' | 'place' | 'rules'>,
    rows: ImportRow[],
    isPart: boolean,
    signal?: AbortSignal,
  ): Promise<ImportReport> {
    const context = { ...of, dryRun: false, mode: 'valid-rows' as const, isPart: true };
    for (let tries = 1; ; tries += 1) {
      try {
        const result = await runKind(this.database, this.resources, context, { signal }, rows);
        return reportOf(of.kind, { forms: { file: 'csv' }, ignored: [] }, result, false, true);
      } catch (error) {
        signal?.throwIfAborted();
        // Whether it was written or not, a batch can be repeated: existing equal records stay unchanged.
        if (isPart || tries === TRIES || !BUSY.has(toProblemError(error).status)) throw error;
        await pause(PAUSE_MS, undefined, { signal });
      }
    }
  }
}

const fileOf = (
  kind: Kind,
  path: string,
  { map, encoding, delimiter, sheet, decimal, dates, timeZone, chainages }: LargeOptions,
): LargeFile => ({
  path,
  map,
  rows: kind.rows,
  ...readable(kind),
  ...{ encoding, delimiter, sheet, decimal, dates, timeZone, chainages },
});
