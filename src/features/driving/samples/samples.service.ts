import { Injectable } from '@nestjs/common';
import { pageFrom } from '../../../common/api/paging.js';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { pageRows } from '../../../common/database/listed.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { MachineSampleModel, type SamplePage, type SampleRange, SampleSummary } from './sample.models.js';

const PAGE = sql`select ${columnsOf(MachineSampleModel, 'm', { chainage: 'chainage_of_driven(d.start_chainage_m, d.direction, m.position_m)' })}
  from machine_sample m join drive d on d.id = m.drive_id
  where m.drive_id = $1 and m.at >= coalesce($2::timestamptz, '-infinity') and m.at < coalesce($3::timestamptz, 'infinity')
    and m.at > coalesce($4::timestamptz, '-infinity')
  order by m.at limit $5`;

const SUMMARY_COLUMNS = columnsOf(SampleSummary, 's', {
  from: 'first_at',
  to: 'last_at',
  count: 'sample_count',
  days: {
    as: `(select coalesce(json_agg(json_build_object('productionDay', d.day, 'count', d.n) order by d.day), '[]')
    from unnest(s.production_days, s.sample_counts) d(day, n))`,
  },
  retired: false,
});

const SUMMARY = sql`select ${SUMMARY_COLUMNS} from samples_between($1, $2::date, $3::date) s`;

const USUAL_PAGE = 1000;

const RETIRED = `select string_agg(to_char(month, 'YYYY-MM'), ', ' order by month) as months from retired_sample_months($1::timestamptz, $2::timestamptz) as month`;

/** Months of a time span whose samples were taken out of the record, in words; undefined: none. */
export const retiredIn = async (
  statements: Statements,
  from: string | undefined,
  to: string | undefined,
): Promise<string | undefined> => {
  const [row] = await readRows<{ months: string | null }>(statements, RETIRED, from ?? null, to ?? null);
  return row?.months ?? undefined;
};

/**
 * Makes PostgreSQL read the samples by their key, which is in order of time. Without statistics for a new month it would assume
 * that the month is small, and read and sort all of it for each page.
 */
export const readInOrder = async (statements: Statements): Promise<void> => {
  await statements.$queryRawUnsafe(`select set_config('enable_sort', 'off', true)`);
};

@Injectable()
export class SamplesService {
  constructor(private readonly drives: DriveReader) {}

  /** Up to `first` samples in the time range and after a moment. */
  async page(drive: string, { from, to, after, first = USUAL_PAGE }: SampleRange): Promise<SamplePage> {
    const { items, retired } = await this.drives.reading(drive, async (driveId, statements) => {
      await readInOrder(statements);
      return {
        items: await pageRows(statements, PAGE, driveId, from ?? null, to ?? null, after ?? null, first + 1),
        retired: await retiredIn(statements, from, to),
      };
    });
    const gaps = retired === undefined ? {} : { retired };
    return { ...pageFrom(items, first, ({ at }) => at), ...gaps };
  }

  async summary(drive: string, range: DateRange): Promise<SampleSummary> {
    const days = daysOf(range);
    return this.drives.reading(drive, async (driveId, statements) => {
      const [summary] = await readRows(statements, SUMMARY, driveId, ...days);
      const retired = await retiredIn(statements, days[0] ?? undefined, days[1] ?? undefined);
      return { ...(summary ?? { count: 0, days: [] }), ...(retired === undefined ? {} : { retired }) };
    });
  }
}
