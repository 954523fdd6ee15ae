import { Injectable } from '@nestjs/common';
import { assertPrecondition } from '../../../common/api/precondition.js';
import { type Fault, faulty, firstOf, ProblemError, shown } from '../../../common/api/problem.js';
import { minorUnitsOf } from '../../../common/currency.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { declaredIn, type DeclaredTableForm } from '../../../common/files/table/form.model.js';
import { mapInTurns } from '../../../common/work/turns.js';
import { Workers } from '../../../common/work/workers.js';
import type { Bill } from './bill.models.js';
import {
  type BillRows,
  isSame,
  ItemsTogether,
  type ItemField,
  type ItemRow,
  rowsOfBill,
} from './bill-rows.js';
import { projectCurrency, readBill, storeBill } from './bill-store.js';
import { type BillTable, readBillTable } from './bill-table.js';
import { refuseLocked } from './bills.service.js';
import { type BillImportReport, type BillRowChange, BillRowOutcome } from './import-report.model.js';
import { type ImportRow, isItem, readRow } from './import-rows.js';

export interface BillImportOptions extends DeclaredTableForm {
  dryRun?: boolean;
  replace?: boolean;
  validFrom?: string;
  currency?: string;
  remark?: string;
  ifMatch?: string;
}

const textOf = (value: unknown): string | undefined => (value == null ? undefined : String(shown(value)));

/** What a row says otherwise than the item that stands. */
const changesOf = (standing: ItemRow, said: ItemRow): BillRowChange[] =>
  (Object.keys(said) as ItemField[])
    .filter((field) => said[field] !== standing[field])
    .map((field) => ({ field, from: textOf(standing[field]), to: textOf(said[field]) }));

const refusal = ({ rejected }: BillImportReport, rows: ImportRow[]): ProblemError => {
  const faults = rows.flatMap((row, index) =>
    row.faults.map(({ field, value, detail }): Fault => ({
      in: 'body',
      pointer: `/rows/${index}${field === '' ? '' : `/${field}`}`,
      value,
      detail: `line ${row.line}: ${detail}`,
    })),
  );
  return new ProblemError(
    'invalid',
    `${rejected} of ${rows.length} rows rejected, nothing was written; see errors${firstOf(faults.length)}`,
    faults,
  );
};

/** Takes a bill from a table, whole or not at all. Safe to repeat: an item that stands as the table has it is left alone. */
@Injectable()
export class BillImportService {
  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
  ) {}

  /** @throws ProblemError for a file, an option or a row that cannot be taken; a dry run reports the rows instead */
  async take(
    drive: string,
    version: string,
    file: Buffer,
    options: BillImportOptions,
  ): Promise<BillImportReport> {
    const table = await readBillTable(this.workers, { file, ...declaredIn(options) });
    return this.database.atomicUnlessDry(options.dryRun === true, async (transaction) =>
      takeTable(transaction, await lockedDriveId(transaction, drive), version, table, options),
    );
  }
}

const headOf = (
  { validFrom, currency, remark }: BillImportOptions,
  standing: BillRows | undefined,
  usual: string,
): Omit<BillRows, 'items'> => {
  const from = validFrom ?? standing?.validFrom;
  if (from === undefined)
    throw faulty('invalid', [
      {
        in: 'body',
        pointer: '/validFrom',
        detail: 'validFrom is missing: the version is new, so give the day from which it counts',
      },
    ]);
  return {
    validFrom: from,
    currency: currency ?? standing?.currency ?? usual,
    remark: remark ?? standing?.remark ?? null,
  };
};

/** The items of the bill as it then is: of the table alone, or those that stand with what the table says of them. */
const mergedItems = (standing: ItemRow[], said: ItemRow[], replace: boolean): ItemRow[] => {
  if (replace) return said;
  const byReference = new Map(said.map((item) => [item.reference, item]));
  const stays = standing.map((item) => {
    const own = byReference.get(item.reference);
    byReference.delete(item.reference);
    return own ?? item;
  });
  return [...stays, ...byReference.values()];
};

const takeTable = async (
  transaction: Transaction,
  driveId: number,
  version: string,
  table: BillTable,
  options: BillImportOptions,
): Promise<BillImportReport> => {
  const bill = await readBill(transaction, driveId, version);
  const standing = bill && rowsOfBill(bill);
  const head = headOf(options, standing, await projectCurrency(transaction));
  const minorUnits = minorUnitsOf(head.currency) ?? 2; // one that is none is refused when it is stored
  const known = new Map(standing?.items.map((item) => [item.reference, item]));
  const items = table.rows.filter(isItem);
  if (items.length === 0)
    throw faulty('invalid', [
      { in: 'body', pointer: '/file', detail: 'the table has a heading row but no items' },
    ]);
  const rows = await mapInTurns(items, (row) =>
    readRow(row, table.columns, minorUnits, (reference) => known.get(reference)),
  );
  const replace = options.replace ?? false;
  judgeTogether(rows, standing?.items ?? [], replace);
  const report = reportOf(rows, known, table, options);
  if (report.rejected > 0) {
    if (options.dryRun !== true) throw refusal(report, rows);
    return report;
  }
  const said = rows.flatMap(({ item }) => (item ? [item] : []));
  const taken = { ...head, items: mergedItems(standing?.items ?? [], said, replace) };
  if (!standing || !isSame(standing, taken)) {
    if (bill) assertImportPrecondition(bill, options);
    await storeBill(transaction, driveId, version, taken);
  }
  const stands = await readBill(transaction, driveId, version);
  return {
    ...report,
    removed: replace ? known.size - report.changed - report.unchanged : 0,
    amount: stands?.amount,
  };
};

/** If-Match is held to where it is sent: a table names the items that it changes, and reports them. */
const assertImportPrecondition = (bill: Bill, { ifMatch }: BillImportOptions): void => {
  if (ifMatch !== undefined) assertPrecondition({ ifMatch }, bill.etag, 'bill');
  refuseLocked(bill);
};

/** What the rows say against each other, and against the items that stay beside them. */
const judgeTogether = (rows: ImportRow[], standing: ItemRow[], replace: boolean): void => {
  const together = new ItemsTogether();
  const said = new Set(rows.map(({ reference }) => reference));
  if (!replace)
    for (const item of standing)
      if (!said.has(item.reference)) together.faultsOf(item, `by item ${item.reference}, which stays`);
  for (const { line, reference, item, faults } of rows) {
    if (item) faults.push(...together.faultsOf(item, `on line ${line}`));
    else if (reference !== null) faults.push(...together.twice(reference, `on line ${line}`));
  }
};

const reportOf = (
  rows: ImportRow[],
  known: Map<string, ItemRow>,
  table: BillTable,
  { dryRun = false }: BillImportOptions,
): BillImportReport => {
  const counts = { created: 0, changed: 0, unchanged: 0, rejected: 0 };
  const reported = rows.map(({ line, reference, item, faults }) => {
    const standing = item ? known.get(item.reference) : undefined;
    const changes = standing && item && faults.length === 0 ? changesOf(standing, item) : [];
    const sound = standing ? (changes.length > 0 ? 'changed' : 'unchanged') : 'created';
    const outcome = BillRowOutcome[faults.length > 0 ? 'rejected' : sound];
    counts[outcome] += 1;
    return {
      line,
      reference: reference ?? undefined,
      outcome,
      faults: faults.map(({ field, value, detail }) => ({ field, value: textOf(value), detail })),
      changes,
    };
  });
  const passedOver = table.rows.length - rows.length;
  return { dryRun, read: table.forms, rows: reported, ...counts, removed: 0, passedOver };
};
