import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { drivenPlace } from '../../../common/drive-interval.js';
import { metresText } from '../../../engineering/chainage.js';
import {
  HOLD_POINT_CAUTION,
  HoldPoint,
  HoldPointRelease,
  type HoldPointInput,
  type HoldPointReleaseInput,
} from './hold-point.models.js';

const RELEASES = `select coalesce(json_agg(r order by r."recordedAt" desc), '[]') from (
    select ${String(columnsOf(HoldPointRelease))}
    from hold_point_releases where hold_point_id = h.hold_point_id) r`;

/** Columns of hold_point_register h. */
export const HOLD_POINT_COLUMNS = columnsOf(HoldPoint, '', {
  releases: { as: `(${RELEASES})` },
  caution: false,
});

const POINTS = sql`select ${HOLD_POINT_COLUMNS}
  from hold_point_register h where drive_id = $1 order by at_m, code`;

const PUT = `insert into hold_point (drive_id, code, at_m, reason, side, role) values ($1::int, $2, $3::numeric, $4, $5::party_side, $6)
  on conflict (drive_id, code) do update set at_m = excluded.at_m, reason = excluded.reason, side = excluded.side, role = excluded.role`;

const REMOVE = `delete from hold_point where drive_id = $1 and code = $2 returning id`;

const STANDING = `select h.id, r.id as release, coalesce($3::timestamptz > clock_timestamp(), false) as "isAhead" from hold_point h
  left join hold_point_release r on r.hold_point_id = h.id and r.withdrawn_at is null where h.drive_id = $1 and h.code = $2`;

const RELEASE = `insert into hold_point_release (drive_id, hold_point_id, evidence, released_at)
  values ($1::int, $2::int, $3, $4::timestamptz)`;

const WITHDRAW = `update hold_point_release set withdrawn_at = clock_timestamp() where id = $1::int`;

interface Standing {
  id: number;
  /** the release in force */
  release: number | null;
  /** whether the given moment is in the future, by the database's clock */
  isAhead: boolean;
}

/** Hold points and their releases. Permissions are enforced by the database: see hold_releasing_side in the migrations. */
@Injectable()
export class HoldPointsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  async list(drive: string): Promise<HoldPoint[]> {
    const points = await this.drives.read(drive, POINTS);
    return points.map((point) => ({ ...point, caution: HOLD_POINT_CAUTION }));
  }

  get(drive: string, code: string): Promise<HoldPoint> {
    return oneOf(this.list(drive), (each) => each.code === code, named(drive, code));
  }

  async put(drive: string, code: string, input: HoldPointInput): Promise<HoldPoint> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const faults: Fault[] = [];
      const frame = await driveFrame(transaction, id);
      const atMm = drivenPlace(input.chainage, '/chainage', frame, (pointer, value, detail) =>
        faults.push({ in: 'body', pointer, value, detail }),
      );
      if (faults.length > 0) throw faulty('invalid', faults);
      const { reason, side, role = null } = input;
      await transaction.$executeRawUnsafe(PUT, id, code, metresText(atMm), reason, side, role);
    });
    return this.get(drive, code);
  }

  async remove(drive: string, code: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, id, code);
      if (gone.length === 0) throw notFound(named(drive, code));
    });
  }

  async release(
    drive: string,
    code: string,
    { evidence, releasedAt }: HoldPointReleaseInput,
  ): Promise<HoldPoint> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const point = await standing(transaction, id, drive, code, releasedAt);
      if (point.isAhead) {
        const detail = `releasedAt ${releasedAt} lies in the future: a release is recorded once it was given`;
        throw faulty('invalid', [{ in: 'body', pointer: '/releasedAt', value: releasedAt, detail }]);
      }
      if (point.release !== null)
        throw new ProblemError('wrong_state', `hold point ${code} is released: withdraw the release first`);
      await transaction.$executeRawUnsafe(RELEASE, id, point.id, evidence, releasedAt ?? null);
    });
    return this.get(drive, code);
  }

  async withdraw(drive: string, code: string, reason: string): Promise<HoldPoint> {
    await inScope({ ...scope(), reason: reason.trim() }, () =>
      this.database.atomic(async (transaction) => {
        const id = await lockedDriveId(transaction, drive);
        const point = await standing(transaction, id, drive, code);
        if (point.release === null)
          throw new ProblemError(
            'wrong_state',
            `hold point ${code} is not released: no release can be withdrawn`,
          );
        await transaction.$executeRawUnsafe(WITHDRAW, point.release);
      }),
    );
    return this.get(drive, code);
  }
}

const named = (drive: string, code: string): string =>
  `hold point ${code} of drive ${drive} in project ${scope().project}`;

const standing = async (
  transaction: Transaction,
  id: number,
  drive: string,
  code: string,
  moment?: string,
): Promise<Standing> => {
  const [point] = await readRows<Standing>(transaction, STANDING, id, code, moment ?? null);
  if (!point) throw notFound(named(drive, code));
  return point;
};
