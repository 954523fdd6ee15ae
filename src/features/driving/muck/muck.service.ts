import { Injectable } from '@nestjs/common';
import type { Page } from '../../../common/api/paging.js';
import { notFound } from '../../../common/api/problem.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { MUCK_CAUTION, type MuckProgress, type StrokeMuck, type StrokeMuckPage } from './muck.models.js';
import { type MuckRow, unanswered } from './unanswered.js';

const MUCK = `select stroke_number as number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM",
  ground_class_code as "groundClass", density_t_per_m3::text as "densityTPerM3", density_of as "densityOf", swell_percent::text as "swellPercent",
  swell_of as "swellOf", bank_volume_m3::text as "bankVolumeM3", loose_volume_m3::text as "looseVolumeM3",
  theoretical_mass_t::text as "theoreticalMassT", muck_mass_t::text as "muckMassT", weighed_m::text as "weighedM",
  difference_t::text as "differenceT", cumulative_difference_t::text as "cumulativeDifferenceT", ratio::text as ratio, band,
  belt_flow_t_per_h as "beltFlowTPerH", loose_flow_m3_per_h as "looseFlowM3PerH", belt_load as "beltLoad", haulage,
  full_belt_rate_m_per_h as "fullBeltRateMPerH", penetration_rate_m_per_h as "penetrationRateMPerH",
  belt_capacity_t_per_h::text as "beltCapacityTPerH"
  from stroke_muck where drive_id = $1 and stroke_number > $2 order by stroke_number limit $3`;

const PROGRESS = `select bored_m::text as "boredM", bank_volume_m3::text as "bankVolumeM3", loose_volume_m3::text as "looseVolumeM3",
  loose_m::text as "looseM", weighed_mass_t::text as "weighedMassT", compared_m::text as "comparedM", compared_mass_t::text as "comparedMassT",
  theoretical_mass_t::text as "theoreticalMassT", difference_t::text as "differenceT", ratio::text as ratio, above_count as "aboveCount",
  below_count as "belowCount", belt_capacity_t_per_h::text as "beltCapacityTPerH", highest_belt_flow_t_per_h as "highestBeltFlowTPerH",
  highest_belt_load as "highestBeltLoad", limited_count as "limitedCount" from muck_progress where drive_id = $1`;

/** The row without what is given elsewhere, and with what has no answer in words. */
const reported = ({ penetrationRateMPerH, beltCapacityTPerH, ...muck }: MuckRow): StrokeMuck => ({
  ...muck,
  unanswered: unanswered({ penetrationRateMPerH, beltCapacityTPerH, ...muck }),
});

@Injectable()
export class MuckService {
  constructor(private readonly drives: DriveReader) {}

  /** The strokes after a number, `first` at the most. */
  async page(drive: string, { first, after }: Page): Promise<StrokeMuckPage> {
    const rows = await this.drives.read<MuckRow>(drive, MUCK, after, first + 1);
    const items = rows.slice(0, first).map(reported);
    return { items, next: rows.length > first ? items.at(-1)?.number : undefined, caution: MUCK_CAUTION };
  }

  async progress(drive: string): Promise<MuckProgress> {
    const [progress] = await this.drives.read<Omit<MuckProgress, 'caution'>>(drive, PROGRESS);
    if (!progress) throw notFound(`drive ${drive} in project ${scope().project}`);
    return { ...progress, caution: MUCK_CAUTION };
  }
}
