import { Injectable } from '@nestjs/common';
import { partOf } from '../../../common/api/chainage-window.js';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { readJson } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import {
  SupportByDay,
  SupportByGroundClass,
  SupportByInterval,
  type SupportIntervalArgs,
  SupportQuantity,
} from './support.models.js';

const TOTAL = sql`select ${columnsOf(SupportQuantity, '', { item: 'item_code' })} from support_total where drive_id = $1 order by item_code, zone`;

/** Days are filtered after summing: with a range unknown at planning time, PostgreSQL would expect few lines and join many by nested loops. */
const BY_DAY = sql`select ${columnsOf(SupportByDay, '', { item: 'item_code' })} from (select * from support_by_day where drive_id = $1 offset 0) s
  where production_day >= coalesce($2::date, '-infinity') and production_day <= coalesce($3::date, 'infinity')
  order by production_day, item_code, zone`;

const BY_GROUND_CLASS = sql`select ${columnsOf(SupportByGroundClass, '', { item: 'item_code' })} from support_by_ground_class
  where drive_id = $1 order by ground_class_code nulls last, item_code, zone`;

const BY_INTERVAL = sql`select ${columnsOf(SupportByInterval, '', { item: 'item_code' })} from support_in_intervals($1, $2, $3::numeric)
  where to_m > $4::numeric and from_m < $5::numeric order by from_m, item_code, zone`;

const USUAL_LENGTH_M = 10;

@Injectable()
export class SupportService {
  constructor(private readonly drives: DriveReader) {}

  total(drive: string): Promise<SupportQuantity[]> {
    return this.drives.read(drive, TOTAL);
  }

  byDay(drive: string, days: DateRange): Promise<JsonRows<SupportByDay>> {
    return this.drives.readJson(drive, BY_DAY, ...daysOf(days));
  }

  byGroundClass(drive: string): Promise<SupportByGroundClass[]> {
    return this.drives.read(drive, BY_GROUND_CLASS);
  }

  /** Whole intervals that overlap the part. */
  byInterval(drive: string, { lengthM, ...part }: SupportIntervalArgs): Promise<JsonRows<SupportByInterval>> {
    return this.drives.reading(drive, async (id, statements) => {
      const { lowM, highM } = await partOf(statements, id, part);
      const asked = [scope().project, drive, String(lengthM ?? USUAL_LENGTH_M), lowM, highM];
      return readJson(statements, BY_INTERVAL, ...asked);
    });
  }
}
