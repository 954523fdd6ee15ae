import { Injectable } from '@nestjs/common';
import type { WindowPage } from '../../../common/api/chainage-window.js';
import { cursorBy } from '../../../common/api/cursor.js';
import { placedPage } from '../../../common/api/placed-page.js';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { investigationRows } from './ahead-rows.js';
import { Investigation, type InvestigationInput, type InvestigationPage } from './investigation.models.js';

/** Columns of investigation v. */
export const INVESTIGATION_COLUMNS = columnsOf(Investigation, 'v', {
  from: { as: 'chainage_at(v.drive_id, v.from_m)' },
  to: { as: 'chainage_at(v.drive_id, v.to_m)' },
  face: { as: 'chainage_at(v.drive_id, v.face_m)' },
  indications: {
    as: `(
    select coalesce(json_agg(json_build_object('key', i.key, 'kind', i.kind, 'from', chainage_at(v.drive_id, i.from_m), 'to', chainage_at(v.drive_id, i.to_m),
      'fromUncertaintyM', i.from_uncertainty_m::text, 'toUncertaintyM', i.to_uncertainty_m::text, 'remark', i.remark) order by i.from_m, i.key), '[]')
    from indication i where i.investigation_id = v.id)`,
  },
});

const ONE = sql`select ${INVESTIGATION_COLUMNS} from investigation v where v.drive_id = $1 and v.name = $2`;

const PAGE = sql`select ${INVESTIGATION_COLUMNS}, ${cursorBy({ metres: 'v.from_m' }, 'v.name')}
  from investigation v where v.drive_id = $1 and v.to_m > $2::numeric and v.from_m < $3::numeric and v.from_m >= $4::numeric
  and (v.from_m > $4::numeric or v.name > $5) order by v.from_m, v.name limit $6`;

const HOLE = `select name from probe_hole where drive_id = $1 and name = $2`;

const GIVEN = `(select * from jsonb_to_recordset($2::jsonb) as r(key text, kind indication_kind, "fromM" numeric, "toM" numeric, "fromUncertaintyM" numeric,
  "toUncertaintyM" numeric, remark text)) g`;

/** Unchanged indications keep their rows, so that the history shows no change where nothing differs. */
const CLEAR = `delete from indication i where i.investigation_id = $1 and not exists (select from ${GIVEN} where g.key = i.key)`;

const FILL = `insert into indication (investigation_id, key, kind, from_m, to_m, from_uncertainty_m, to_uncertainty_m, remark)
  select $1, g.key, g.kind, g."fromM", g."toM", g."fromUncertaintyM", g."toUncertaintyM", g.remark from ${GIVEN}
  on conflict (investigation_id, key) do update set kind = excluded.kind, from_m = excluded.from_m, to_m = excluded.to_m,
    from_uncertainty_m = excluded.from_uncertainty_m, to_uncertainty_m = excluded.to_uncertainty_m, remark = excluded.remark`;

/** Investigations of the ground ahead, with their indications. */
@Injectable()
export class InvestigationsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  page(drive: string, query: WindowPage): Promise<InvestigationPage> {
    return this.drives.reading(drive, (id, statements) => placedPage(statements, id, PAGE, query));
  }

  async get(drive: string, name: string): Promise<Investigation> {
    const [found] = await this.drives.read(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return found;
  }

  async put(drive: string, name: string, input: InvestigationInput): Promise<Investigation> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { head, indications } = investigationRows(input, await driveFrame(transaction, driveId));
      await assertHole(transaction, driveId, drive, head.probeHole);
      const where = { driveId_name: { driveId, name } };
      const { id } = await transaction.investigation.upsert({
        where,
        create: { driveId, name, ...head },
        update: head,
      });
      await transaction.$executeRawUnsafe(CLEAR, id, JSON.stringify(indications));
      await transaction.$executeRawUnsafe(FILL, id, JSON.stringify(indications));
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.investigation.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

const absent = (drive: string, name: string): Error => notFound(`investigation ${name} in drive ${drive}`);

/** @throws ProblemError invalid when the investigation names a hole that the drive does not have */
const assertHole = async (
  transaction: Transaction,
  driveId: number,
  drive: string,
  hole: string | null,
): Promise<void> => {
  if (hole === null) return;
  const [found] = await readRows<{ name: string }>(transaction, HOLE, driveId, hole);
  if (found) return;
  const detail = `probe hole ${hole} not found in drive ${drive}`;
  throw faulty('invalid', [{ in: 'body', pointer: '/probeHole', value: hole, detail }]);
};
