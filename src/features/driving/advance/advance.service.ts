import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import type { DayAdvance, ShiftAdvance } from './advance.models.js';

const FIGURES = `advance_m::text as "advanceM", stroke_count as "strokeCount", boring_hours::text as "boringHours",
  chainage_text(from_chainage_m) as "fromChainage", chainage_text(face_chainage_m) as "faceChainage", cumulative_m::text as "cumulativeM"`;

const BY_SHIFT = `select shift_date as date, shift_name as shift, state, starts_at as "startsAt", ends_at as "endsAt", ${FIGURES}
  from shift_advance where drive_id = $1 and shift_date >= coalesce($2::date, '-infinity') and shift_date <= coalesce($3::date, 'infinity')
  order by starts_at`;

const BY_DAY = `select production_day as "productionDay", ${FIGURES}
  from day_advance where drive_id = $1 and production_day >= coalesce($2::date, '-infinity') and production_day <= coalesce($3::date, 'infinity')
  order by production_day`;

@Injectable()
export class AdvanceService {
  constructor(private readonly drives: DriveReader) {}

  byShift(drive: string, range: DateRange): Promise<JsonRows<ShiftAdvance>> {
    return this.drives.readJson<ShiftAdvance>(drive, BY_SHIFT, ...daysOf(range));
  }

  byDay(drive: string, range: DateRange): Promise<JsonRows<DayAdvance>> {
    return this.drives.readJson<DayAdvance>(drive, BY_DAY, ...daysOf(range));
  }
}
