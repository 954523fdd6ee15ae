import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { scope } from '../../../common/database/scope.js';
import type {
  FaceArgs,
  FacePosition,
  RollingAdvance,
  RollingArgs,
  WindowAdvance,
  WindowArgs,
} from './face.models.js';

const FACE = `select $3::timestamptz as at, face_m::text as "faceM", chainage_text(face_chainage_m) as "faceChainage",
  untimed_m::text as "untimedM", untimed_ahead_m::text as "untimedAheadM" from face_at($1, $2, $3::timestamptz)`;

const WINDOW = `select $3::timestamptz as from, $4::timestamptz as to, advance_m::text as "advanceM", stroke_count as "strokeCount",
  boring_hours::text as "boringHours", chainage_text(from_chainage_m) as "fromChainage", chainage_text(to_chainage_m) as "toChainage",
  untimed_m::text as "untimedM", missing_m::text as "missingM" from advance_between($1, $2, $3::timestamptz, $4::timestamptz)`;

const WINDOWS = `select r.from_at as from, r.to_at as to, r.advance_m::text as "advanceM", chainage_text(r.from_chainage_m) as "fromChainage",
  chainage_text(r.to_chainage_m) as "toChainage"
  from rolling_advance($1, $2, $3::int) r
  join drive d on d.id = r.drive_id
  join project p on p.id = d.project_id
  cross join lateral (select production_day(r.to_at - interval '1 millisecond', p.time_zone, p.day_start) as day) ends
  where ends.day >= coalesce($4::date, '-infinity') and ends.day <= coalesce($5::date, 'infinity')`;

const ROLLING = `${WINDOWS} order by r.from_at`;
const BEST = `${WINDOWS} order by r.advance_m desc, r.from_at limit 1`;

/** The face in time, and the advance in any window of it. */
@Injectable()
export class FaceService {
  constructor(private readonly drives: DriveReader) {}

  async at(drive: string, { at }: FaceArgs): Promise<FacePosition> {
    const [face] = (await this.drives.readByCodes<FacePosition>(drive, FACE, at)).rows();
    if (!face) throw notFound(`drive ${drive} in project ${scope().project}`);
    return face;
  }

  async between(drive: string, { from, to }: WindowArgs): Promise<WindowAdvance> {
    const [window] = (await this.drives.readByCodes<WindowAdvance>(drive, WINDOW, from, to)).rows();
    if (!window) throw notFound(`drive ${drive} in project ${scope().project}`);
    return window;
  }

  rolling(drive: string, { hours, ...range }: RollingArgs): Promise<JsonRows<RollingAdvance>> {
    return this.drives.readByCodes<RollingAdvance>(drive, ROLLING, hours, ...daysOf(range));
  }

  /** The largest advance in so many elapsed hours, of equal ones the earliest; undefined: nothing is bored with times. */
  async best(drive: string, hours: number): Promise<RollingAdvance | undefined> {
    const [best] = (await this.drives.readByCodes<RollingAdvance>(drive, BEST, hours, null, null)).rows();
    return best;
  }
}
