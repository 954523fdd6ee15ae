import { Injectable } from '@nestjs/common';
import { Database } from '../../../common/database/database.js';
import type { DriveProgress } from '../../site/drives/drive.model.js';
import { DrivesService } from '../../site/drives/drives.service.js';
import { Followers } from './followers.service.js';
import { assertReached } from './assert-reached.js';
import type { AcceptedShift } from './live.models.js';

const LAST_CHANGE = `select coalesce(max(number), 0) as number from change`;

/** Shifts read at a time, plus the rest of the last change. */
const AT_A_TIME = 100;

const ACCEPTED = `select * from (
    select s.shift_date as date, n.name as shift, s.state, c.number as change, c.made_at as "madeAt", c.actor as "madeBy", s.starts_at
    from history.change c join history.shift s on s.project_id = c.project_id and s.from_change = c.number
    join calendar_shift n on n.id = s.calendar_shift_id join drive d on d.id = s.drive_id
    where c.number > $1 and d.code = $2 order by c.number fetch first ${AT_A_TIME} rows with ties) accepted
  order by change, starts_at`;

const PERMISSION = 'record.read';

/** Events of a drive, reported as they happen. */
@Injectable()
export class LiveService {
  constructor(
    private readonly database: Database,
    private readonly drives: DrivesService,
    private readonly followers: Followers,
  ) {}

  /** Each shift of the drive that is accepted from now on, or since a given change. */
  async acceptedShifts(
    drive: string,
    authorization: string | undefined,
    since?: number | null,
  ): Promise<AsyncIterableIterator<AcceptedShift>> {
    await this.drives.get(drive);
    const [last] = await this.database.read<{ number: number }>(LAST_CHANGE);
    const newest = last?.number ?? 0;
    assertReached(since ?? 0, newest);
    let seen = since ?? newest;
    return this.followers.follow({ authorization, permission: PERMISSION }, async () => {
      const taken = await this.database.read<AcceptedShift>(ACCEPTED, seen, drive);
      seen = taken.at(-1)?.change ?? seen;
      return { values: taken, more: taken.length >= AT_A_TIME };
    });
  }

  /** The position of the face: now, and again each time it has moved. */
  async facePositions(
    drive: string,
    authorization: string | undefined,
  ): Promise<AsyncIterableIterator<DriveProgress>> {
    await this.drives.get(drive);
    let reported = '';
    return this.followers.follow({ authorization, permission: PERMISSION }, async () => {
      const progress = await this.drives.progress(drive);
      const now = JSON.stringify(progress);
      const news = now === reported ? [] : [progress];
      reported = now;
      return { values: news };
    });
  }
}
