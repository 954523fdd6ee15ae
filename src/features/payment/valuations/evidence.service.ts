import { Injectable } from '@nestjs/common';
import { faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { type DisputeInput, LumpProgress, QuantityDispute } from './evidence.models.js';

const LUMPS = sql`select ${columnsOf(LumpProgress, '', { percent: 'trim_scale(percent)' })}
  from lump_progress where drive_id = $1 order by reference, day`;

const LUMP_RULE = `select 1 as found from measurement_rule r join pay_item i on i.id = r.pay_item_id where r.drive_id = $1 and i.reference = $2 and r.source = 'lump' limit 1`;

const PUT_LUMP = `insert into lump_progress (drive_id, reference, day, percent) values ($1, $2, $3::date, $4::numeric)
  on conflict (drive_id, reference, day) do update set percent = excluded.percent`;

const REMOVE_LUMP =
  'delete from lump_progress where drive_id = $1 and reference = $2 and day = $3::date returning id';

const DISPUTES_COLUMNS = columnsOf(QuantityDispute, '', {
  signatures: 'signed_by(settlement_for, settled_for, coalesce(settlement_by <> settled_by, false))',
});

const DISPUTES = sql`select ${DISPUTES_COLUMNS} from quantity_dispute where drive_id = $1 order by number`;

const MEASURED = `select sum(quantity + held_quantity) < 0 as "takesOff" from measured_of($1, 'infinity', $2) where source_key = $3 having count(*) > 0`;

const RAISE = `insert into quantity_dispute (drive_id, number, reference, source_key, reason)
  select $1, coalesce(max(number), 0) + 1, $2, $3, $4 from quantity_dispute where drive_id = $1 returning number`;

const OPEN = 'select id, settled_by as "settledBy" from quantity_dispute where drive_id = $1 and number = $2';

/** Where two sides must sign, a trigger turns this into a proposal until the other side gives the same settlement. */
const SETTLE = `update quantity_dispute set settled_by = acting_subject(), settled_at = clock_timestamp(), settlement = $2 where id = $1`;

/** Inputs of a valuation other than shifts: progress of lump sums, and disputed quantities. */
@Injectable()
export class EvidenceService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  lumps(drive: string): Promise<LumpProgress[]> {
    return this.drives.read(drive, LUMPS);
  }

  async putLump(drive: string, reference: string, day: string, percent: string): Promise<LumpProgress> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const known = await readRows(transaction, LUMP_RULE, driveId, reference);
      if (known.length === 0) {
        const detail = `no bill of drive ${drive} measures item ${reference} as a lump sum`;
        throw faulty('invalid', [{ in: 'path', pointer: '/reference', value: reference, detail }]);
      }
      await transaction.$executeRawUnsafe(PUT_LUMP, driveId, reference, day, percent);
    });
    return { reference, day, percent };
  }

  async removeLump(drive: string, reference: string, day: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE_LUMP, driveId, reference, day);
      if (gone.length === 0) throw notFound(`progress of lump sum ${reference} on ${day} of drive ${drive}`);
    });
  }

  disputes(drive: string): Promise<QuantityDispute[]> {
    return this.drives.read(drive, DISPUTES);
  }

  async raise(drive: string, { reference, sourceKey, reason }: DisputeInput): Promise<QuantityDispute> {
    const number = await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [measured] = await readRows<{ takesOff: boolean }>(
        transaction,
        MEASURED,
        driveId,
        reference,
        sourceKey,
      );
      if (!measured || measured.takesOff) {
        const detail = measured
          ? `${sourceKey} reduces item ${reference}: only records that add to it can be disputed`
          : `item ${reference} measures no record ${sourceKey}`;
        throw faulty('invalid', [{ in: 'body', pointer: '/sourceKey', value: sourceKey, detail }]);
      }
      const known = (await readRows(transaction, DISPUTES, driveId)).find(
        (one) => one.reference === reference && one.sourceKey === sourceKey && one.settledAt == null,
      );
      if (known)
        throw new ProblemError(
          'exists',
          `${sourceKey} under ${reference} is already in dispute: number ${known.number}`,
        );
      const [raised] = await transaction.$queryRawUnsafe<{ number: number }[]>(
        RAISE,
        driveId,
        reference,
        sourceKey,
        reason.trim(),
      );
      return raised?.number ?? 0;
    });
    return this.dispute(drive, number);
  }

  /**
   * The quantity counts from the next valuation on. Where two sides must sign, one proposes, and the other agrees by settling it in the
   * same words; different words make another proposal.
   */
  async settle(drive: string, number: number, settlement: string): Promise<QuantityDispute> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [open] = await readRows<{ id: number; settledBy: string | null }>(
        transaction,
        OPEN,
        driveId,
        number,
      );
      if (!open) throw notFound(`dispute ${number} of drive ${drive}`);
      if (open.settledBy !== null)
        throw new ProblemError('wrong_state', `dispute ${number} was settled by ${open.settledBy}`);
      await transaction.$executeRawUnsafe(SETTLE, open.id, settlement.trim());
    });
    return this.dispute(drive, number);
  }

  async dispute(drive: string, number: number): Promise<QuantityDispute> {
    const found = (await this.disputes(drive)).find((one) => one.number === number);
    if (!found) throw notFound(`dispute ${number} of drive ${drive}`);
    return found;
  }
}
