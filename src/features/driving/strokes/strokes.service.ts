import { Injectable } from '@nestjs/common';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import type { Stroke, StrokePage } from './stroke.model.js';

/** The fields of a stroke, from report.stroke and what is built on it. */
export const STROKE_COLUMNS = `stroke_number as number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  length_m::text as "lengthM", boring_count as "boringCount", started_at as "startedAt", ended_at as "endedAt",
  boring_hours::text as "boringHours", thrust_kn as "thrustKn", torque_knm as "torqueKnm", rotation_rpm as "rotationRpm",
  penetration_mm_per_rev as "penetrationMmPerRev", gripper_pressure_bar as "gripperPressureBar", muck_mass_t::text as "muckMassT",
  penetration_rate_m_per_h as "penetrationRateMPerH", thrust_per_disc_kn as "thrustPerDiscKn",
  field_penetration_index as "fieldPenetrationIndex", specific_energy_mj_per_m3 as "specificEnergyMjPerM3",
  torque_ratio as "torqueRatio", regular_advance as "regularAdvance"`;

const STROKES = `select ${STROKE_COLUMNS}
  from stroke where drive_id = $1 and stroke_number > $2 order by stroke_number limit $3`;

@Injectable()
export class StrokesService {
  constructor(private readonly drives: DriveReader) {}

  /** The strokes after a number, `first` at the most. */
  async page(drive: string, { first, after }: Page): Promise<StrokePage> {
    const items = await this.drives.read<Stroke>(drive, STROKES, after, first + 1);
    return pageFrom(items, first, ({ number }) => number);
  }
}
