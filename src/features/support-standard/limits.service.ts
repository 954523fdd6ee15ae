import { Injectable } from '@nestjs/common';
import { type Fault, faulty } from '../../common/api/problem.js';
import { Database } from '../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../common/database/drive-reader.service.js';
import type { SupportLimit, SupportLimitsInput } from './standard.models.js';

const LIMITS = `select l.zone, l.limit_m::text as "limitM" from drive_support_limit l where l.drive_id = $1 order by l.zone`;

const REPLACE = `with given as (select r.zone::support_zone as zone, r."limitM" as limit_m from jsonb_to_recordset($2::jsonb) as r(zone text, "limitM" numeric)),
  gone as (delete from drive_support_limit where drive_id = $1 and zone not in (select zone from given))
  insert into drive_support_limit (drive_id, zone, limit_m) select $1, zone, limit_m from given
  on conflict (drive_id, zone) do update set limit_m = excluded.limit_m`;

/** How far behind the face the support of each zone must be complete. */
@Injectable()
export class LimitsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<SupportLimit[]> {
    return this.drives.read<SupportLimit>(drive, LIMITS);
  }

  /** Puts the limits in the place of those that stood. */
  async put(drive: string, { limits }: SupportLimitsInput): Promise<SupportLimit[]> {
    const faults = limits.flatMap(({ zone }, index): Fault[] =>
      limits.findIndex((limit) => limit.zone === zone) < index
        ? [
            {
              in: 'body',
              pointer: `/limits/${index}/zone`,
              value: zone,
              detail: `zone ${zone} is there twice`,
            },
          ]
        : [],
    );
    if (faults.length > 0) throw faulty('invalid', faults);
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      await transaction.$executeRawUnsafe(REPLACE, id, JSON.stringify(limits));
    });
    return this.list(drive);
  }
}
