import { Injectable } from '@nestjs/common';
import { type ChainageWindow, windowOf } from '../../../common/api/chainage-window.js';
import { pageOf } from '../../../common/api/paging.js';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { readJson, readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { jsonOf, type JsonText } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import {
  type IntervalPageArgs,
  SUPPORT_MEASURE_CAUTION as caution,
  SupportMeasure,
  SupportMeasureByDay,
  SupportMeasureByGroundClass,
  SupportMeasureByInterval,
  type SupportMeasureIntervalPage,
  type SupportMeasures,
  type SupportMeasuresByDay,
  type SupportMeasuresByGroundClass,
} from './support-measure.models.js';

const TOTAL = sql`select ${columnsOf(SupportMeasure, '', { item: 'item_code' })} from support_measure where drive_id = $1 order by item_code, zone`;

const BY_DAY = sql`select ${columnsOf(SupportMeasureByDay, '', { item: 'item_code' })} from support_measure_by_day
  where drive_id = $1 and production_day >= coalesce($2::date, '-infinity') and production_day <= coalesce($3::date, 'infinity')
  order by production_day, item_code, zone`;

const BY_GROUND_CLASS = sql`select ${columnsOf(SupportMeasureByGroundClass, '', { item: 'item_code' })} from support_measure_by_ground_class
  where drive_id = $1 order by ground_class_code nulls last, item_code, zone`;

const BY_INTERVAL = sql`select ${columnsOf(SupportMeasureByInterval, '', { item: 'item_code', interval: 'interval_number' })}
  from support_measure_in_intervals($1, $2, $3::numeric, $4::int, $5::int) order by interval_number, item_code, zone`;

/** Numbers of the first and the last interval that overlap a part, by its driven metres. */
const NUMBERS = `select (floor((o.origin_m + $3::numeric) / $2::numeric) - floor(o.origin_m / $2::numeric))::int as first,
    (ceil((o.origin_m + $4::numeric) / $2::numeric) - 1 - floor(o.origin_m / $2::numeric))::int as last
  from drive d cross join lateral (select d.direction * d.start_chainage_m as origin_m) o where d.id = $1`;

const NEXT_HELD = `select support_interval_after($1, $2::numeric, $3::int) as number`;

/** A range of interval numbers. */
interface Numbers {
  first: number;
  last: number;
}

const ALL: Numbers = { first: 0, last: Number.MAX_SAFE_INTEGER };

const USUAL_LENGTH_M = 10;

/** The first later interval that contains support; null: none. */
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

const numbersOf = async (
  statements: Statements,
  driveId: number,
  lengthM: number,
  asked: ChainageWindow,
): Promise<Numbers> => {
  const { lowM, highM } = await windowOf(statements, driveId, asked);
  const [numbers] = await readRows<Numbers>(statements, NUMBERS, driveId, String(lengthM), lowM, highM);
  return numbers ?? ALL;
};

@Injectable()
export class SupportMeasureService {
  constructor(private readonly drives: DriveReader) {}

  async total(drive: string): Promise<SupportMeasures> {
    return { items: await this.drives.read(drive, TOTAL), caution };
  }

  async byDay(drive: string, days: DateRange): Promise<JsonText<SupportMeasuresByDay>> {
    const items = await this.drives.readJson(drive, BY_DAY, ...daysOf(days));
    return jsonOf<SupportMeasuresByDay>({ items, caution });
  }

  async byGroundClass(drive: string): Promise<SupportMeasuresByGroundClass> {
    return { items: await this.drives.read(drive, BY_GROUND_CLASS), caution };
  }

  /** Up to `first` intervals of a part after a given one, beginning with the first that contains support, each with all its items. */
  byInterval(drive: string, args: IntervalPageArgs): Promise<JsonText<SupportMeasureIntervalPage>> {
    const { from, to } = args;
    const lengthM = args.lengthM ?? USUAL_LENGTH_M;
    const { first, after } = pageOf(args, -1);
    return this.drives.reading(drive, async (driveId, statements) => {
      const part =
        from == null && to == null ? ALL : await numbersOf(statements, driveId, lengthM, { from, to });
      const start = await nextHeld(statements, driveId, lengthM, Math.max(after, part.first - 1));
      if (start === null || start > part.last)
        return jsonOf<SupportMeasureIntervalPage>({ items: [], next: undefined, caution });
      const last = Math.min(start + first - 1, part.last);
      const [items, following] = await Promise.all([
        readJson(statements, BY_INTERVAL, scope().project, drive, String(lengthM), start, last),
        last < part.last ? nextHeld(statements, driveId, lengthM, last) : null,
      ]);
      const isLast = following === null || following > part.last;
      return jsonOf<SupportMeasureIntervalPage>({
        items,
        next: isLast ? undefined : following - 1,
        caution,
      });
    });
  }
}
