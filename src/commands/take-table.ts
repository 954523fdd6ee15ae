import { readFileSync } from 'node:fs';
import { createApp } from '../app.js';
import { ProblemError } from '../common/api/problem.js';
import { loadConfig } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import type { DeclaredTableForm } from '../common/files/table/form.model.js';
import type { ImportReport } from '../features/site/imports/import.models.js';
import { ImportRefused, ImportsService } from '../features/site/imports/imports.service.js';
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
  json?: boolean;
}

const inWords = (report: ImportReport): string => {
  const { rows, rowCount, created, unchanged, updated, rejected, dryRun } = report;
  const told = rows.filter(({ faults, changes }) => faults.length + changes.length > 0);
  const lines = told.map(({ line, key = '?', outcome, faults, changes }) =>
    [
      `row ${line}`,
      key,
      outcome,
      [
        ...faults.map(({ detail }) => detail),
        ...changes.map(({ field, from = 'empty', to = 'empty' }) => `${field}: ${from} becomes ${to}`),
      ].join('; '),
    ].join('  '),
  );
  const summary = `${rowCount} ${rowCount === 1 ? 'row' : 'rows'}: ${created} created, ${unchanged} unchanged, ${updated} updated, ${rejected} rejected.`;
  return [...lines, summary, ...(dryRun ? ['Dry run: nothing was written.'] : [])].join('\n') + '\n';
};

/** Reads a table of a kind by the routes of the service, which does not listen. @returns the exit status */
export const takeTable = async (
  kind: string,
  file: string,
  { project, drive, map, dryRun, validRows, json, ...declared }: ImportCommandOptions,
): Promise<number> => {
  const table = readFileSync(file);
  const read = map === undefined ? undefined : readMap(map);
  const ready = await commandDatabase(loadConfig());
  const app = await createApp({ ...loadConfig(), databaseUrl: ready.url, logLevel: 'silent' });
  const put = (report: ImportReport): number => {
    print(report, json, () => inWords(report));
    return report.rejected > 0 ? 1 : 0;
  };
  try {
    const scope = await commandScope(app.get(Database), project);
    const place = { project, ...(drive !== undefined && { drive }) };
    const mode = validRows ? 'valid-rows' : 'whole';
    return put(
      await inScope(scope, () =>
        app.get(ImportsService).take(kind, place, table, { map: read, dryRun, mode, ...declared }),
      ),
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
