import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { DayAdvance, ShiftAdvance } from './advance.models.js';

const BY_SHIFT = sql`select ${columnsOf(ShiftAdvance, '', { date: 'shift_date', shift: 'shift_name' })}
  from shift_advance where drive_id = $1 and shift_date >= coalesce($2::date, '-infinity') and shift_date <= coalesce($3::date, 'infinity')
  order by starts_at`;

const BY_DAY = sql`select ${columnsOf(DayAdvance)}
  from day_advance where drive_id = $1 and production_day >= coalesce($2::date, '-infinity') and production_day <= coalesce($3::date, 'infinity')
  order by production_day`;

@Injectable()
export class AdvanceService {
  constructor(private readonly drives: DriveReader) {}

  byShift(drive: string, range: DateRange): Promise<JsonRows<ShiftAdvance>> {
    return this.drives.readJson(drive, BY_SHIFT, ...daysOf(range));
  }

  byDay(drive: string, range: DateRange): Promise<JsonRows<DayAdvance>> {
    return this.drives.readJson(drive, BY_DAY, ...daysOf(range));
  }
}
