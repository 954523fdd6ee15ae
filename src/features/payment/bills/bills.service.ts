import { Injectable } from '@nestjs/common';
import { Outcome } from '../../../common/api/outcome.js';
import { assertCreates, assertPrecondition, type Precondition } from '../../../common/api/precondition.js';
import { ProblemError } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { assertUnused } from '../../../common/database/removal.js';
import type { Bill, BillInput, BillReceipt, BillSummary } from './bill.models.js';
import { billRows, isSame, itemRows, rowsOfBill } from './bill-rows.js';
import { absentBill, HEADS, projectCurrency, readBill, storeBill } from './bill-store.js';

/** The bill of a drive's contract, in versions. */
@Injectable()
export class BillsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<BillSummary[]> {
    return this.drives.read(drive, HEADS);
  }

  async get(drive: string, version: string): Promise<Bill> {
    const found = await this.drives.reading(drive, (id, statements) => readBill(statements, id, version));
    if (!found) throw absentBill(drive, version);
    return found;
  }

  /**
   * Stores a version as a whole or refuses it. A document equal to the stored one changes nothing and is answered so, whatever
   * version it names: the answer to its first sending may have been lost. Only If-None-Match: * is refused for an existing one.
   */
  put(drive: string, version: string, input: BillInput, precondition: Precondition): Promise<BillReceipt> {
    const items = itemRows(input.items);
    return this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const standing = await readBill(transaction, driveId, version);
      const rows = billRows(input, items, await projectCurrency(transaction));
      assertCreates(precondition, standing?.etag, 'bill');
      if (standing && isSame(rowsOfBill(standing), rows))
        return { outcome: Outcome.unchanged, bill: standing };
      assertPrecondition(precondition, standing?.etag, 'bill');
      if (standing) refuseLocked(standing);
      await storeBill(transaction, driveId, version, rows);
      const bill = await readBill(transaction, driveId, version);
      if (!bill) throw absentBill(drive, version);
      return { outcome: standing ? Outcome.replaced : Outcome.created, bill };
    });
  }

  /** Removes a version that no certified valuation uses. */
  async remove(drive: string, version: string, ifMatch?: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const standing = await readBill(transaction, driveId, version);
      if (!standing) throw absentBill(drive, version);
      assertPrecondition({ ifMatch }, standing.etag, 'bill');
      const { id } = await transaction.bill.findUniqueOrThrow({
        where: { driveId_version: { driveId, version } },
        select: { id: true },
      });
      await assertUnused(transaction, 'bill', `bill ${version}`, id);
      refuseLocked(standing);
      await transaction.bill.delete({ where: { id } });
    });
  }
}

/** The database enforces this too; here it is reported before anything else. */
export const refuseLocked = ({ version, lockedAt }: BillSummary): void => {
  if (lockedAt == null) return;
  throw new ProblemError(
    'locked',
    `bill ${version} is locked, as certified valuations use it: create another version`,
  );
};
