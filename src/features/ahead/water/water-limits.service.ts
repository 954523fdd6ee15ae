import { Injectable } from '@nestjs/common';
import { absentAsNull } from '../../../common/api/absent-as-null.js';
import { oneOf } from '../../../common/api/one-of.js';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { driveId, DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { WaterLimits, type WaterLimitsInput } from './water-limits.models.js';

const LIMITS = sql`select ${columnsOf(WaterLimits, 'l', { isInForce: 'f.valid_from is not null' })}
  from water_limit l left join water_limit_in_force f on f.drive_id = l.drive_id and f.valid_from = l.valid_from
  where l.drive_id = $1 order by l.valid_from`;

/** Inflow triggers and pumping capacity, as dated data of a drive. */
@Injectable()
export class WaterLimitsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<WaterLimits[]> {
    return this.drives.read(drive, LIMITS);
  }

  get(drive: string, validFrom: string): Promise<WaterLimits> {
    return oneOf(this.list(drive), (each) => each.validFrom === validFrom, named(drive, validFrom));
  }

  async put(drive: string, validFrom: string, input: WaterLimitsInput): Promise<WaterLimits> {
    const values = absentAsNull(input, [
      'per100mLPerMin',
      'perHoleLPerMin',
      'totalLPerMin',
      'pumpingLPerMin',
      'remark',
    ]);
    const day = new Date(validFrom);
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      await transaction.waterLimit.upsert({
        where: { driveId_validFrom: { driveId: id, validFrom: day } },
        create: { driveId: id, validFrom: day, ...values },
        update: values,
      });
    });
    return this.get(drive, validFrom);
  }

  async remove(drive: string, validFrom: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const where = { driveId: id, validFrom: new Date(validFrom) };
      const { count } = await transaction.waterLimit.deleteMany({ where });
      if (count === 0) throw notFound(named(drive, validFrom));
    });
  }
}

const named = (drive: string, validFrom: string): string =>
  `water limits from ${validFrom} in drive ${drive}`;
