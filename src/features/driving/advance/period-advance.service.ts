import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import type {
  BestAdvance,
  DayAdvanceTrend,
  LearningAdvance,
  PeriodAdvance,
} from './period-advance.models.js';

const WITHIN = `>= coalesce($2::date, '-infinity')`;

const periods = (
  view: string,
): string => `select label as period, first_day as "firstDay", last_day as "lastDay", starts_at as "startsAt",
  ends_at as "endsAt", day_count as "dayCount", days_with_boring as "daysWithBoring", advance_m::text as "advanceM",
  stroke_count as "strokeCount", boring_hours::text as "boringHours", mean_m_per_day::text as "meanMPerDay",
  chainage_text(from_chainage_m) as "fromChainage", chainage_text(face_chainage_m) as "faceChainage", cumulative_m::text as "cumulativeM"
  from ${view} where drive_id = $1 and last_day ${WITHIN} and first_day <= coalesce($3::date, 'infinity') order by first_day`;

const BY_WEEK = periods('week_advance');
const BY_MONTH = periods('month_advance');
const BY_QUARTER = periods('quarter_advance');

const TREND = `select production_day as "productionDay", advance_m::text as "advanceM", mean_7_days_m::text as "mean7DaysM",
  mean_30_days_m::text as "mean30DaysM", cumulative_m::text as "cumulativeM"
  from day_advance_trend where drive_id = $1 and production_day ${WITHIN} and production_day <= coalesce($3::date, 'infinity')
  order by production_day`;

const BEST = `select kind, label, advance_m::text as "advanceM", from_at as from, to_at as to, chainage_text(from_chainage_m) as "fromChainage",
  chainage_text(to_chainage_m) as "toChainage" from best_advance where drive_id = $1
  order by array_position('{shift,production_day,rolling_24_h,week,month}', kind)`;

const LEARNING = `select first_length_m::text as "firstLengthM", passed_at as "passedAt", first_m::text as "firstM", first_days::text as "firstDays",
  first_mean_m_per_day::text as "firstMeanMPerDay", rest_m::text as "restM", rest_days::text as "restDays",
  rest_mean_m_per_day::text as "restMeanMPerDay", untimed_m::text as "untimedM"
  from learning_advance where drive_id = $1 order by first_length_m`;

/** Advance by the periods of the calendar, its course, and the best of it. */
@Injectable()
export class PeriodAdvanceService {
  constructor(private readonly drives: DriveReader) {}

  byWeek(drive: string, range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.within<PeriodAdvance>(drive, BY_WEEK, range);
  }

  byMonth(drive: string, range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.within<PeriodAdvance>(drive, BY_MONTH, range);
  }

  byQuarter(drive: string, range: DateRange): Promise<JsonRows<PeriodAdvance>> {
    return this.within<PeriodAdvance>(drive, BY_QUARTER, range);
  }

  trend(drive: string, range: DateRange): Promise<JsonRows<DayAdvanceTrend>> {
    return this.within<DayAdvanceTrend>(drive, TREND, range);
  }

  best(drive: string): Promise<BestAdvance[]> {
    return this.drives.read<BestAdvance>(drive, BEST);
  }

  learning(drive: string): Promise<LearningAdvance[]> {
    return this.drives.read<LearningAdvance>(drive, LEARNING);
  }

  private within<T>(drive: string, sql: string, range: DateRange): Promise<JsonRows<T>> {
    return this.drives.readJson<T>(drive, sql, ...daysOf(range));
  }
}
