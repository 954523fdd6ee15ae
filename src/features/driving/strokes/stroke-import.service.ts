import { Injectable } from '@nestjs/common';
import { Database, type Transaction } from '../../../common/database/database.js';
import { keepAwake } from '../../../common/database/keep-awake.js';
import {
  type GivenTable,
  type TakenTable,
  type TogetherKind,
  TogetherKinds,
  type TogetherRules,
} from '../../../common/imports/together.js';
import { Workers } from '../../../common/work/workers.js';
import { readFirstDoubts, WRITTEN_BY_IMPORTS } from '../doubts/read-doubts.js';
import { lockedContextText } from './import-context.js';
import { readCloseGaps } from './import-gaps.js';
import { PLAN, type PlanInput } from './import-job.js';
import { storeImport } from './import-store.js';
import { assertStrokeFields } from './stroke-fields.js';
import { StrokeRow } from './stroke-row.model.js';

/**
 * Imports tables of strokes. Imported strokes belong to no shift: they count for the drive's metres, but not for the minutes of a
 * shift. Safe to repeat: a stroke equal to the table's is left alone.
 */
@Injectable()
export class StrokeImportService implements TogetherKind {
  readonly kind = 'strokes';
  readonly row = StrokeRow;
  readonly list = 'drives/:drive/strokes';
  readonly keys = ['number'];
  readonly assertFields = assertStrokeFields;

  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
    kinds: TogetherKinds,
  ) {
    kinds.register(this); // in the constructor, because commands do not start the service
  }

  assertRules({ closeGaps }: TogetherRules): void {
    readCloseGaps(closeGaps);
  }

  take(
    drive: string,
    table: GivenTable,
    { closeGaps, replace, validRows }: TogetherRules,
  ): Promise<TakenTable> {
    const rules = { table: JSON.stringify(table), closeGapsMm: readCloseGaps(closeGaps), replace, validRows };
    return this.database.atomic((transaction) => this.takeTable(transaction, drive, rules));
  }

  private async takeTable(
    transaction: Transaction,
    drive: string,
    rules: Omit<PlanInput, 'context'>,
  ): Promise<TakenTable> {
    const { driveId, context } = await lockedContextText(transaction, drive);
    const planned = this.workers.run(PLAN, { ...rules, context });
    const { taken, isRefused, leaving, strokes } = await keepAwake(transaction, planned);
    const result = JSON.parse(taken) as TakenTable;
    if (isRefused) return result;
    await storeImport(transaction, driveId, leaving, strokes);
    return { ...result, ...(await readFirstDoubts(transaction, driveId, WRITTEN_BY_IMPORTS)) };
  }
}
