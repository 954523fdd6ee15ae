import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { notFound } from '../../../common/api/problem.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import type { ProbeHole, ProbeHoleInput } from './probe-hole.model.js';
import { probeHoleRow } from './probe-hole-row.js';
import { ADD_NEW, LOG, REMOVE_STALE } from './probe-log-sql.js';

export const PROBE_HOLE_COLUMNS = `h.name, chainage_at(h.drive_id, h.collar_m) as collar, chainage_at(h.drive_id, h.face_m) as face,
  h.position_deg::text as "positionDeg", h.look_out_deg::text as "lookOutDeg", h.length_m::text as "lengthM",
  h.water_inflow_l_per_min::text as "waterInflowLPerMin", h.water_depth_m::text as "waterDepthM", h.drilled_at as "drilledAt", h.remark,
  h.axial_reach_m::text as "axialReachM", h.radial_spread_m::text as "radialSpreadM",
  chainage_at(h.drive_id, h.collar_m + h.axial_reach_m) as reach, r.gives_cover as "givesCover", r.shift_date::text as "shiftDate",
  r.shift_name as "shiftName", r.shift_state as "shiftState", h.look_out_azimuth_deg::text as "lookOutAzimuthDeg",
  h.planned_length_m::text as "plannedLengthM", h.diameter_mm::text as "diameterMm", h.method::text, r.state, ${LOG} as log`;

const HOLES = `select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 order by h.collar_m, h.name`;

@Injectable()
export class ProbingService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<ProbeHole[]> {
    return this.drives.read<ProbeHole>(drive, HOLES);
  }

  get(drive: string, name: string): Promise<ProbeHole> {
    return oneOf(this.list(drive), (each) => each.name === name, `probe hole ${name} in drive ${drive}`);
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
  await upsertProbeHole(transaction, driveId, name, values);
  await transaction.$executeRawUnsafe(ADD_NEW, driveId, name, log);
};

/** Writes a hole; its log stays as it is. */
export const upsertProbeHole = async (
  transaction: Transaction,
  driveId: number,
  name: string,
  values: ReturnType<typeof probeHoleRow>,
): Promise<void> => {
  const where = { driveId_name: { driveId, name } };
  await transaction.probeHole.upsert({ where, create: { driveId, name, ...values }, update: values });
};
