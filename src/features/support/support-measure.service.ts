import { Injectable } from '@nestjs/common';
import type { Page } from '../../common/api/paging.js';
import { readRows, type Statements } from '../../common/database/database.js';
import { DriveReader } from '../../common/database/drive-reader.service.js';
import { scope } from '../../common/database/scope.js';
import {
  SUPPORT_MEASURE_CAUTION as caution,
  type SupportMeasure,
  type SupportMeasureByDay,
  type SupportMeasureByGroundClass,
  type SupportMeasureByInterval,
  type SupportMeasureIntervalPage,
  type SupportMeasures,
  type SupportMeasuresByDay,
  type SupportMeasuresByGroundClass,
} from './support-measure.models.js';

const FIGURES = `item_code as item, kind, description, unit, zone, quantity::text as quantity, row_count as "rowCount",
  incomplete_count as "incompleteCount", missing, total_length_m::text as "totalLengthM", area_m2::text as "areaM2",
  number_per_m2::text as "numberPerM2", gross_area_m2::text as "grossAreaM2", mass_kg::text as "massKg",
  theoretical_volume_m3::text as "theoreticalVolumeM3", expected_volume_m3::text as "expectedVolumeM3",
  delivered_volume_m3::text as "deliveredVolumeM3", placed_volume_m3::text as "placedVolumeM3",
  compared_theoretical_volume_m3::text as "comparedTheoreticalVolumeM3", compared_delivered_volume_m3::text as "comparedDeliveredVolumeM3",
  volume_factor::text as "volumeFactor", mean_thickness_mm::text as "meanThicknessMm"`;

const TOTAL = `select ${FIGURES} from support_measure where drive_id = $1 order by item_code, zone`;

const BY_DAY = `select production_day as "productionDay", ${FIGURES} from support_measure_by_day
  where drive_id = $1 order by production_day, item_code, zone`;

const BY_GROUND_CLASS = `select ground_class_code as "groundClass", ${FIGURES} from support_measure_by_ground_class
  where drive_id = $1 order by ground_class_code nulls last, item_code, zone`;

const BY_INTERVAL = `select interval_number as interval, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, ${FIGURES}
  from support_measure_in_intervals($1, $2, $3::numeric, $4::int, $5::int) order by interval_number, item_code, zone`;

const NEXT_HELD = `select support_interval_after($1, $2::numeric, $3::int) as number`;

/** The first interval after one that holds support; null: none. */
const nextHeld = async (
  statements: Statements,
  driveId: number,
  lengthM: number,
  after: number,
): Promise<number | null> => {
  const [held] = await readRows<{ number: number | null }>(
    statements,
    NEXT_HELD,
    driveId,
    String(lengthM),
    after,
  );
  return held?.number ?? null;
};

@Injectable()
export class SupportMeasureService {
  constructor(private readonly drives: DriveReader) {}

  async total(drive: string): Promise<SupportMeasures> {
    return { items: await this.drives.read<SupportMeasure>(drive, TOTAL), caution };
  }

  async byDay(drive: string): Promise<SupportMeasuresByDay> {
    return { items: await this.drives.read<SupportMeasureByDay>(drive, BY_DAY), caution };
  }

  async byGroundClass(drive: string): Promise<SupportMeasuresByGroundClass> {
    return { items: await this.drives.read<SupportMeasureByGroundClass>(drive, BY_GROUND_CLASS), caution };
  }

  /** Of the intervals after one, `first` from the first that holds support on, each with all its items. */
  byInterval(drive: string, lengthM: number, { first, after }: Page): Promise<SupportMeasureIntervalPage> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const start = await nextHeld(statements, driveId, lengthM, after);
      if (start === null) return { items: [], caution };
      const last = start + first - 1;
      const items = await readRows<SupportMeasureByInterval>(
        statements,
        BY_INTERVAL,
        scope().project,
        drive,
        String(lengthM),
        start,
        last,
      );
      const following = await nextHeld(statements, driveId, lengthM, last);
      return { items, next: following === null ? undefined : following - 1, caution };
    });
  }
}
