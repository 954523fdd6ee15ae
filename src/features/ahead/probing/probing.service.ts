import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { driveId, DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { axialReach, radialSpread } from '../../../engineering/probe-hole.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { PROBE_CAUTION, type ProbeCover, type ProbeHole, type ProbeHoleInput } from './probe-hole.model.js';

export const PROBE_HOLE_COLUMNS = `h.name, chainage_at(h.drive_id, h.collar_m) as collar, chainage_at(h.drive_id, h.face_m) as face,
  h.position_deg::text as "positionDeg", h.look_out_deg::text as "lookOutDeg", h.length_m::text as "lengthM",
  h.water_inflow_l_per_min::text as "waterInflowLPerMin", h.water_depth_m::text as "waterDepthM", h.drilled_at as "drilledAt", h.remark,
  h.axial_reach_m::text as "axialReachM", h.radial_spread_m::text as "radialSpreadM",
  chainage_at(h.drive_id, h.collar_m + h.axial_reach_m) as reach, r.gives_cover as "givesCover", r.shift_date::text as "shiftDate",
  r.shift_name as "shiftName", r.shift_state as "shiftState"`;

const HOLES = `select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 order by h.collar_m, h.name`;

const COVER = `select chainage_text(face_chainage_m) as "faceChainage", chainage_text(probed_to_chainage_m) as "probedToChainage",
  cover_m::text as "coverM", hole_count as "holeCount", counted_hole_count as "countedHoleCount",
  without_position_count as "withoutPositionCount", beyond_look_out_limit_count as "beyondLookOutLimitCount", look_out_limit_deg::text as "lookOutLimitDeg",
  without_time_count as "withoutTimeCount", not_yet_drilled_count as "notYetDrilledCount" from probe_cover where drive_id = $1`;

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

  async cover(drive: string): Promise<ProbeCover> {
    const [cover] = await this.drives.read<Omit<ProbeCover, 'caution'>>(drive, COVER);
    if (!cover) throw notFound(`drive ${drive} in project ${scope().project}`);
    return { ...cover, caution: PROBE_CAUTION };
  }

  async put(drive: string, name: string, input: ProbeHoleInput): Promise<ProbeHole> {
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      const values = placed(input, await driveFrame(transaction, id));
      const where = { driveId_name: { driveId: id, name } };
      await transaction.probeHole.upsert({ where, create: { driveId: id, name, ...values }, update: values });
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

const millimetre = (metres: number): string => metres.toFixed(3);

/** The hole as stored. @throws ProblemError invalid with every fault of its geometry */
const placed = (input: ProbeHoleInput, frame: DriveFrame) => {
  const faults: Fault[] = [];
  const place = (pointer: string, chainage: string): string => {
    const driven = frame.driven(chainage);
    if ('fault' in driven) faults.push({ in: 'body', pointer, value: chainage, detail: driven.fault });
    return 'fault' in driven ? '0' : driven.metres;
  };
  const collarM = place('/collar', input.collar);
  const faceM = input.face == null ? null : place('/face', input.face);
  if (input.waterDepthM != null && Number(input.waterDepthM) > Number(input.lengthM)) {
    const detail = `waterDepthM ${input.waterDepthM} lies beyond the hole's length of ${input.lengthM} m`;
    faults.push({ in: 'body', pointer: '/waterDepthM', value: input.waterDepthM, detail });
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  const [lengthM, lookOutDeg] = [Number(input.lengthM), Number(input.lookOutDeg)];
  return {
    collarM,
    faceM,
    positionDeg: input.positionDeg ?? null,
    lookOutDeg: input.lookOutDeg,
    lengthM: input.lengthM,
    waterInflowLPerMin: input.waterInflowLPerMin ?? null,
    waterDepthM: input.waterDepthM ?? null,
    drilledAt: input.drilledAt ?? null,
    remark: input.remark ?? null,
    axialReachM: millimetre(axialReach(lengthM, lookOutDeg)),
    radialSpreadM: millimetre(radialSpread(lengthM, lookOutDeg)),
  };
};
