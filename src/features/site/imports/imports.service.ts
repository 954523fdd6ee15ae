import { Injectable } from '@nestjs/common';
import { Resources } from '../../../common/api/resources.js';
import { analyseGrown } from '../../../common/database/analyse.js';
import { Database } from '../../../common/database/database.js';
import { declaredIn, type DeclaredTableForm } from '../../../common/files/table/form.model.js';
import { noRows } from '../../../common/files/table/read-table.js';
import { unpacked } from '../../../common/work/packed.js';
import { Workers } from '../../../common/work/workers.js';
import type { ImportForm, ImportReport } from './import.models.js';
import { refusalOf, reportOf, telling } from './import-report.js';
import { asRead, type Kind, Kinds, readable } from './kinds.service.js';
import { MANY, MOST_ROWS } from './limits.js';
import { READ_IMPORT, type ReadTable } from './read-job.js';
import { isPassedOver, rowOf } from './table-rows.js';
import { assertRules } from './import-rules.js';
import type { ImportWatch } from './run-import.js';
import { runKind } from './run-kind.js';

export type ImportOptions = Omit<ImportForm, 'file'>;

/** Imports tables of any kind of record. Safe to repeat: a record equal to the table's is left alone. */
@Injectable()
export class ImportsService {
  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
    private readonly resources: Resources,
    private readonly kinds: Kinds,
  ) {}

  /**
   * @param place  project, and drive for a kind that belongs to one
   * @throws ImportRefused with the report when a row is rejected, except in a dry run or in mode valid-rows
   * @throws ProblemError for an invalid map, option or file; not_found for the kind or the drive
   */
  async take(
    kindName: string,
    place: Record<string, string>,
    file: Uint8Array,
    { dryRun = false, mode = 'whole', allRows = false, map, replace, closeGaps, ...declared }: ImportOptions,
    watch: ImportWatch = {},
  ): Promise<ImportReport> {
    const asked = this.kinds.of(kindName);
    const rules = { replace, closeGaps };
    assertRules(asked, mode, rules);
    const table = await this.read(asked, file, map, declared);
    const kind = asRead(asked, table);
    const all = (await unpacked(table.rows)).map((row) => rowOf(row, table.fields));
    const rows = all.filter((row) => !isPassedOver(kind, row));
    if (rows.length === 0) throw noRows(kind.rows);
    kind.together?.assertFields(table.fields);
    const context = { kind, place, dryRun, mode, rules };
    const result = await runKind(this.database, this.resources, context, watch, rows);
    result.passedOver = all.length - rows.length;
    const report = reportOf(kind, table, result, dryRun, allRows || mode === 'whole');
    if (report.rejected > 0 && mode === 'whole' && !dryRun) throw refusalOf(result, report);
    if (!dryRun && report.created >= MANY) await analyseGrown(this.database);
    return allRows ? report : { ...report, rows: telling(report.rows) };
  }

  private read(
    kind: Kind,
    file: Uint8Array,
    map: string | undefined,
    declared: DeclaredTableForm,
  ): Promise<ReadTable> {
    return this.workers.run(READ_IMPORT, {
      file,
      map,
      rows: kind.rows,
      mostRows: MOST_ROWS,
      ...readable(kind),
      ...declaredIn(declared),
    });
  }
}
