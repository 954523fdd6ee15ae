import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, type Reading, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import {
  type FaceArgs,
  FacePosition,
  RollingAdvance,
  type RollingArgs,
  WindowAdvance,
  type WindowArgs,
} from './face.models.js';

const FACE = sql`select ${columnsOf(FacePosition, '', { at: '$3::timestamptz' })} from face_at($1, $2, $3::timestamptz)`;

const WINDOW = sql`select ${columnsOf(WindowAdvance, '', { from: '$3::timestamptz', to: '$4::timestamptz' })}
  from advance_between($1, $2, $3::timestamptz, $4::timestamptz)`;

const windows = (
  order: string,
): Reading<RollingAdvance> => sql`select ${columnsOf(RollingAdvance, 'r', { from: 'from_at', to: 'to_at' })}
  from rolling_advance($1, $2, $3::int) r
  join drive d on d.id = r.drive_id
  join project p on p.id = d.project_id
  cross join lateral (select production_day(r.to_at - interval '1 millisecond', p.time_zone, p.day_start) as day) ends
  where ends.day >= coalesce($4::date, '-infinity') and ends.day <= coalesce($5::date, 'infinity')
  order by ${order}`;

const ROLLING = windows('r.from_at');
const BEST = windows('r.advance_m desc, r.from_at limit 1');

/** The face position over time, and the advance in any window of it. */
@Injectable()
export class FaceService {
  constructor(private readonly drives: DriveReader) {}

  async at(drive: string, { at }: FaceArgs): Promise<FacePosition> {
    const [face] = (await this.drives.readByCodes(drive, FACE, at)).rows();
    if (!face) throw notFound(`drive ${drive} in project ${scope().project}`);
    return face;
  }

  async between(drive: string, { from, to }: WindowArgs): Promise<WindowAdvance> {
    const [window] = (await this.drives.readByCodes(drive, WINDOW, from, to)).rows();
    if (!window) throw notFound(`drive ${drive} in project ${scope().project}`);
    return window;
  }

  rolling(drive: string, { hours, ...range }: RollingArgs): Promise<JsonRows<RollingAdvance>> {
    return this.drives.readByCodes(drive, ROLLING, hours, ...daysOf(range));
  }

  /** The largest advance in this many elapsed hours, the earliest if several are equal; undefined: nothing is bored with times. */
  async best(drive: string, hours: number): Promise<RollingAdvance | undefined> {
    const [best] = (await this.drives.readByCodes(drive, BEST, hours, null, null)).rows();
    return best;
  }
}
