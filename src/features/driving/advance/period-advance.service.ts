import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, type Reading, sql } from '../../../common/database/reading.js';
import { BestAdvance, DayAdvanceTrend, LearningAdvance, PeriodAdvance } from './period-advance.models.js';

const WITHIN = `>= coalesce($2::date, '-infinity')`;

const PERIODS = columnsOf(PeriodAdvance, '', { period: 'label' });

const periods = (view: string): Reading<PeriodAdvance> => sql`select ${PERIODS}
  from ${view} where drive_id = $1 and last_day ${WITHIN} and first_day <= coalesce($3::date, 'infinity') order by first_day`;

const BY_WEEK = periods('week_advance');
const BY_MONTH = periods('month_advance');
const BY_QUARTER = periods('quarter_advance');

const TREND = sql`select ${columnsOf(DayAdvanceTrend)}
  from day_advance_trend where drive_id = $1 and production_day ${WITHIN} and production_day <= coalesce($3::date, 'infinity')
  order by production_day`;

const BEST = sql`select ${columnsOf(BestAdvance, '', { from: 'from_at', to: 'to_at' })} from best_advance where drive_id = $1
  order by array_position('{shift,production_day,rolling_24_h,week,month}', kind)`;

const LEARNING = sql`select ${columnsOf(LearningAdvance)} from learning_advance where drive_id = $1 order by first_length_m`;

/** Advance by calendar period, its trend, and the best advance. */
@Injectable()
export class PeriodAdvanceService {
  constructor(private readonly drives: DriveReader) {}

  byWeek(drive: string, range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.within(drive, BY_WEEK, range);
  }

  byMonth(drive: string, range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.within(drive, BY_MONTH, range);
  }

  byQuarter(drive: string, range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.within(drive, BY_QUARTER, range);
  }

  trend(drive: string, range: DateRange): Promise<JsonRows<DayAdvanceTrend>> {
    return this.within(drive, TREND, range);
  }

  best(drive: string): Promise<BestAdvance[]> {
    return this.drives.read(drive, BEST);
  }

  learning(drive: string): Promise<LearningAdvance[]> {
    return this.drives.read(drive, LEARNING);
  }

  private within<T>(drive: string, reading: Reading<T>, range: DateRange): Promise<JsonRows<T>> {
    return this.drives.readJson(drive, reading, ...daysOf(range));
  }
}
