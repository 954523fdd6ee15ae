import { Injectable } from '@nestjs/common';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { zoneFaults } from '../zones/zone-faults.js';
import { datedReads, momentAsked, revisionFaults } from './revisions.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { SupportLimit, type SupportLimits, type SupportLimitsInput } from './standard.models.js';

const LIMITS = sql`select ${columnsOf(SupportLimit, 'l', datedReads('l', 'l.zone', '$2'))}
  from drive_support_limit l where l.drive_id = $1 order by l.zone, l.valid_from nulls first`;

const NAMED =
  'select valid_from::text as since from drive_support_limit where revision = $1 and drive_id = $2';

/** A zone that has a limit in another revision but not in this one has no limit from this revision's day on. */
const REPLACE = `with given as (
    select r.zone as zone, r."limitM" as limit_m from jsonb_to_recordset($2::jsonb) as r(zone text, "limitM" numeric)
    union all
    select distinct l.zone, null::numeric from drive_support_limit l where l.drive_id = $1 and $4::date is not null and l.valid_from is distinct from $4::date
      and l.zone not in (select r.zone from jsonb_to_recordset($2::jsonb) as r(zone text))
  ), gone as (
    delete from drive_support_limit where drive_id = $1 and valid_from is not distinct from $4::date and zone not in (select zone from given)
  )
  insert into drive_support_limit (drive_id, zone, limit_m, revision, valid_from) select $1, zone, limit_m, $3, $4::date from given
  on conflict (drive_id, zone, valid_from) do update set limit_m = excluded.limit_m, revision = excluded.revision`;

/** How far behind the face the support of each zone must be complete. */
@Injectable()
export class LimitsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<SupportLimit[]> {
    return this.drives.read(drive, LIMITS, momentAsked());
  }

  /** The revision in force, in the form in which it is put, with the list of all revisions. */
  async get(drive: string): Promise<SupportLimits> {
    return asPut(await this.list(drive));
  }

  /** Replaces the limits of the same day. */
  async put(drive: string, { limits, ...input }: SupportLimitsInput): Promise<SupportLimits> {
    const { revision = null, validFrom = null } = input;
    const twice = limits.flatMap(({ zone }, index): Fault[] =>
      limits.findIndex((limit) => limit.zone === zone) < index
        ? [
            {
              in: 'body',
              pointer: `/limits/${index}/zone`,
              value: zone,
              detail: `zone ${zone} is listed twice`,
            },
          ]
        : [],
    );
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const faults = [
        ...twice,
        ...(await zoneFaults(transaction, limits, '/limits')),
        ...(await revisionFaults(transaction, input, NAMED, id)),
      ];
      if (faults.length > 0) throw faulty('invalid', faults);
      await transaction.$executeRawUnsafe(REPLACE, id, JSON.stringify(limits), revision, validFrom);
    });
    return this.get(drive);
  }
}

/** Each zone has a row in a revision. The newest row in force gives the day of the revision; before any is in force, the first row does. */
const asPut = (revisions: SupportLimit[]): SupportLimits => {
  const since = ({ validFrom }: SupportLimit): string => validFrom ?? '';
  const byDay = revisions.toSorted((one, other) => since(one).localeCompare(since(other)));
  const shown = byDay.findLast(({ isInForce }) => isInForce) ?? byDay[0];
  const { revision, validFrom } = shown ?? {};
  const limits = revisions.flatMap((each) =>
    shown && since(each) === since(shown) && each.limitM != null
      ? [{ zone: each.zone, limitM: each.limitM }]
      : [],
  );
  return { revision, validFrom, limits, revisions };
};
