import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { INestApplication } from '@nestjs/common';
import { createApp } from '../app.js';
import { MOST_FAULTS, ProblemError } from '../common/api/problem.js';
import { loadConfig } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { TABLE_LIMIT_BYTES } from '../common/files/table/read-table.js';
import type { DeclaredTableForm } from '../common/files/table/form.model.js';
import type { ImportCounts, ImportReport, ImportRowReport } from '../features/site/imports/import.models.js';
import { ImportRefused } from '../features/site/imports/import-report.js';
import { ImportsService } from '../features/site/imports/imports.service.js';
import { type LargeImport, LargeImports } from '../features/site/imports/large-imports.service.js';
import { MOST_ROWS } from '../features/site/imports/limits.js';
import { print } from './command.js';
import { commandDatabase } from './command-database.js';
import { commandScope } from './command-scope.js';
import { readMap } from './import-map-file.js';
import { problemInWords } from './on-record.js';

export interface ImportCommandOptions extends DeclaredTableForm {
  project: string;
  drive?: string;
  map?: string;
  dryRun?: boolean;
  validRows?: boolean;
  closeGaps?: string;
  replace?: boolean;
  /** file for the result of each row */
  report?: string;
  json?: boolean;
}

type Reported = Pick<
  ImportReport,
  'rows' | 'rowCount' | 'dryRun' | 'removed' | 'lengthM' | 'doubted' | keyof ImportCounts
>;

const inWords = (report: Reported): string => {
  const { rows, rowCount, created, unchanged, updated, rejected, removed, lengthM, dryRun } = report;
  const doubted = report.doubted ? `, ${report.doubted} doubted` : '';
  const reported = rows.filter(
    ({ faults, changes, notes }) => faults.length + changes.length + notes.length > 0,
  );
  const lines = reported.map(({ line, key = '?', outcome, faults, changes, notes }) =>
    [
      `row ${line}`,
      key,
      outcome,
      [
        ...faults.map(({ detail }) => detail),
        ...changes.map(({ field, from = 'empty', to = 'empty' }) => `${field}: ${from} becomes ${to}`),
        ...notes,
      ].join('; '),
    ].join('  '),
  );
  const summary = `${rowCount} ${rowCount === 1 ? 'row' : 'rows'}: ${created} created, ${unchanged} unchanged, ${updated} updated, ${rejected} rejected${removed > 0 ? `, ${removed} removed` : ''}${doubted}${lengthM === undefined ? '' : `; ${lengthM} m`}.`;
  return [...lines, summary, ...(dryRun ? ['Dry run: nothing was written.'] : [])].join('\n') + '\n';
};

/** The bytes of a table small enough for one request; undefined: a longer table, or one with a row report, is read in parts. */
const smallTable = (file: string, report: string | undefined): Buffer | undefined => {
  if (report !== undefined || statSync(file).size > TABLE_LIMIT_BYTES) return undefined;
  const bytes = readFileSync(file);
  if (bytes.subarray(0, 2).toString() === 'PK') return bytes;
  let lines = 0;
  for (let at = bytes.indexOf('\n'); at >= 0 && lines <= MOST_ROWS; at = bytes.indexOf('\n', at + 1))
    lines += 1;
  return lines > MOST_ROWS ? undefined : bytes;
};

/** Imports a large table, with progress on a terminal. */
const takeLarge = async (
  app: INestApplication,
  { kind, place, path: file, options }: LargeImport,
  { report, json }: Pick<ImportCommandOptions, 'report' | 'json'>,
): Promise<number> => {
  const folder = mkdtempSync(path.join(tmpdir(), 'drivebook-import-'));
  const first: ImportRowReport[] = [];
  const isTerminal = process.stderr.isTTY;
  try {
    const outcome = await app
      .get(LargeImports)
      .take({ kind, place, path: file, options }, report ?? path.join(folder, 'rows.csv'), {
        tell: (rows) => first.push(...rows.slice(0, MOST_FAULTS - first.length)),
        progress: (done, { rowCount }) => {
          if (isTerminal)
            process.stderr.write(`\rRow ${done} of ${rowCount}${done === rowCount ? '\n' : ''}`);
        },
      });
    const { rejected, isWritten, mode, dryRun } = outcome;
    if (rejected > 0 && mode === 'whole' && !dryRun && !isWritten)
      process.stderr.write('Refused: nothing was written.\n');
    print(outcome, json, () => inWords({ ...outcome, rows: first }));
    return rejected > 0 ? 1 : 0;
  } finally {
    rmSync(folder, { recursive: true });
  }
};

/** Imports a table of one kind through the routes of the service, which does not listen. @returns the exit status */
export const takeTable = async (
  kind: string,
  file: string,
  {
    project,
    drive,
    map,
    dryRun,
    validRows,
    closeGaps,
    replace,
    report,
    json,
    ...declared
  }: ImportCommandOptions,
): Promise<number> => {
  const table = smallTable(file, report);
  const read = map === undefined ? undefined : readMap(map);
  const ready = await commandDatabase(loadConfig());
  const app = await createApp({ ...loadConfig(), databaseUrl: ready.url, logLevel: 'silent' });
  const put = (taken: ImportReport): number => {
    print(taken, json, () => inWords(taken));
    return taken.rejected > 0 ? 1 : 0;
  };
  try {
    const scope = await commandScope(app.get(Database), project);
    const place = { project, ...(drive !== undefined && { drive }) };
    const mode = validRows ? 'valid-rows' : 'whole';
    const options = { map: read, dryRun, mode, closeGaps, replace, ...declared } as const;
    return await inScope(scope, async () =>
      table === undefined
        ? takeLarge(app, { kind, place, path: file, options }, { report, json })
        : put(await app.get(ImportsService).take(kind, place, table, options)),
    );
  } catch (error) {
    if (error instanceof ImportRefused) {
      process.stderr.write('Refused: nothing was written.\n');
      return put(error.report);
    }
    if (!(error instanceof ProblemError)) throw error;
    process.stderr.write(problemInWords(error));
    return 1;
  } finally {
    await app.close();
    await ready.stop();
  }
};
