import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { faulty } from '../../../common/api/problem.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { flagsOfDrive } from './stroke-flags.js';
import {
  type StrokeFlag,
  StrokePerformance,
  type StrokePerformancePage,
} from './stroke-performance.models.js';
import {
  type StatisticsArgs,
  StatisticsCut,
  StrokeStatistic,
  USUAL_INTERVAL_M,
} from './stroke-statistics.models.js';

const PERFORMANCE = sql`select ${columnsOf(StrokePerformance, '', { number: 'stroke_number' })}
  from stroke_performance where drive_id = $1 and stroke_number > $2 order by stroke_number limit $3`;

const BY_DRIVE = sql`select ${columnsOf(StrokeStatistic, '', { groundClass: 'null', from: { as: 'null' }, to: { as: 'null' } })}
  from stroke_statistics_by_drive where drive_id = $1 order by place`;

const BY_GROUND_CLASS = sql`select ${columnsOf(StrokeStatistic, '', { from: { as: 'null' }, to: { as: 'null' } })} from stroke_statistics_by_ground_class
  where drive_id = $1 order by ground_class_code nulls last, place`;

const BY_INTERVAL = sql`select ${columnsOf(StrokeStatistic, '', { groundClass: 'null' })} from stroke_statistics($1, $2, $3::numeric) order by from_m, place`;

/** Performance of the strokes of a drive: rates, times, flags and statistics. */
@Injectable()
export class StrokePerformanceService {
  constructor(private readonly drives: DriveReader) {}

  /** Up to `first` strokes after a number. */
  async page(drive: string, { first, after }: Page): Promise<StrokePerformancePage> {
    const items = await this.drives.read(drive, PERFORMANCE, after, first + 1);
    return pageFrom(items, first, ({ number }) => number);
  }

  flags(drive: string): Promise<JsonRows<StrokeFlag>> {
    return this.drives.reading(drive, (id, statements) => flagsOfDrive(statements, id));
  }

  statistics(drive: string, { by, lengthM }: StatisticsArgs): Promise<JsonRows<StrokeStatistic>> {
    const cut = by ?? StatisticsCut.drive;
    if (lengthM != null && cut !== StatisticsCut.interval) {
      const detail = `lengthM goes with by=${StatisticsCut.interval}, not with by=${cut}`;
      throw faulty('invalid', [{ in: 'query', pointer: '/lengthM', value: lengthM, detail }]);
    }
    switch (cut) {
      case StatisticsCut.drive:
        return this.drives.readJson(drive, BY_DRIVE);
      case StatisticsCut.ground_class:
        return this.drives.readJson(drive, BY_GROUND_CLASS);
      case StatisticsCut.interval:
        return this.drives.readByCodes(drive, BY_INTERVAL, String(lengthM ?? USUAL_INTERVAL_M));
    }
  }
}
