import { Injectable } from '@nestjs/common';
import type { Page } from '../../../common/api/paging.js';
import { notFound } from '../../../common/api/problem.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, extra, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { MUCK_CAUTION, MuckProgress, StrokeMuck, type StrokeMuckPage } from './muck.models.js';
import { type MuckRow, unanswered } from './unanswered.js';

/** The inputs of the belt load. */
const RESTS_ON = extra<Pick<MuckRow, 'penetrationRateMPerH' | 'beltCapacityTPerH'>>({
  penetrationRateMPerH: 'penetration_rate_m_per_h',
  beltCapacityTPerH: 'belt_capacity_t_per_h::text',
});

const MUCK = sql`select ${columnsOf(StrokeMuck, '', { number: 'stroke_number', unanswered: false })}, ${RESTS_ON}
  from stroke_muck where drive_id = $1 and stroke_number > $2 order by stroke_number limit $3`;

const PROGRESS = sql`select ${columnsOf(MuckProgress, '', { caution: false })} from muck_progress where drive_id = $1`;

/** The row without these inputs, and with the unanswered figures in words. */
const reported = ({ penetrationRateMPerH, beltCapacityTPerH, ...muck }: MuckRow): StrokeMuck => ({
  ...muck,
  unanswered: unanswered({ penetrationRateMPerH, beltCapacityTPerH, ...muck }),
});

@Injectable()
export class MuckService {
  constructor(private readonly drives: DriveReader) {}

  /** Up to `first` strokes after a number. */
  async page(drive: string, { first, after }: Page): Promise<StrokeMuckPage> {
    const rows = await this.drives.read(drive, MUCK, after, first + 1);
    const items = rows.slice(0, first).map(reported);
    return { items, next: rows.length > first ? items.at(-1)?.number : undefined, caution: MUCK_CAUTION };
  }

  async progress(drive: string): Promise<MuckProgress> {
    const [progress] = await this.drives.read(drive, PROGRESS);
    if (!progress) throw notFound(`drive ${drive} in project ${scope().project}`);
    return { ...progress, caution: MUCK_CAUTION };
  }
}
