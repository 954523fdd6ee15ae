import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { ProbeHole, type ProbeHoleInput } from './probe-hole.model.js';
import { probeHoleRow } from './probe-hole-row.js';
import { ADD_NEW, LOG, REMOVE_STALE } from './probe-log-sql.js';

export const PROBE_HOLE_COLUMNS = columnsOf(ProbeHole, 'h', {
  collar: { as: 'chainage_at(h.drive_id, h.collar_m)' },
  face: { as: 'chainage_at(h.drive_id, h.face_m)' },
  reach: { as: 'chainage_at(h.drive_id, h.collar_m + h.axial_reach_m)' },
  method: 'h.method::text',
  state: 'r.state',
  log: { as: LOG },
  givesCover: 'r.gives_cover',
  shiftDate: 'r.shift_date',
  shiftName: 'r.shift_name',
  shiftState: 'r.shift_state',
});

const HOLES = sql`select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 order by h.collar_m, h.name`;

const HOLE = sql`select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 and h.name = $2`;

@Injectable()
export class ProbingService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<ProbeHole[]> {
    return this.drives.read(drive, HOLES);
  }

  async get(drive: string, name: string): Promise<ProbeHole> {
    const [found] = await this.drives.read(drive, HOLE, name);
    if (!found) throw notFound(`probe hole ${name} in drive ${drive}`);
    return found;
  }

  async put(drive: string, name: string, input: ProbeHoleInput): Promise<ProbeHole> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      await putProbeHole(transaction, id, name, input, await driveFrame(transaction, id));
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const { count } = await transaction.probeHole.deleteMany({ where: { driveId: id, name } });
      if (count === 0) throw notFound(`probe hole ${name} in drive ${drive}`);
    });
  }
}

/** Writes a hole with its log. @throws ProblemError invalid with every fault of it */
export const putProbeHole = async (
  transaction: Transaction,
  driveId: number,
  name: string,
  input: ProbeHoleInput,
  frame: DriveFrame,
): Promise<void> => {
  const values = probeHoleRow(input, frame);
  const log = JSON.stringify(input.log);
  await transaction.$executeRawUnsafe(REMOVE_STALE, driveId, name, log);
  const where = { driveId_name: { driveId, name } };
  await transaction.probeHole.upsert({ where, create: { driveId, name, ...values }, update: values });
  await transaction.$executeRawUnsafe(ADD_NEW, driveId, name, log);
};
