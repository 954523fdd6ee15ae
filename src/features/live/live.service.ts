import { Injectable } from '@nestjs/common';
import { ProblemError } from '../../common/api/problem.js';
import { Access } from '../../common/auth/access.js';
import { Authenticator } from '../../common/auth/authenticator.js';
import { Database } from '../../common/database/database.js';
import { inScope, scope } from '../../common/database/scope.js';
import { Measures } from '../../common/metrics/measures.js';
import type { DriveProgress } from '../drives/drive.model.js';
import { DrivesService } from '../drives/drives.service.js';
import { ChangeFeed } from './change-feed.service.js';
import { LiveStream, type News } from './live-stream.js';
import type { AcceptedShift } from './live.models.js';

/** More followers than that are refused: each reads for itself. */
const MAX_STREAMS = 1000;

const LAST_CHANGE = `select coalesce(max(number), 0) as number from history.change`;

/** Shifts read at a time; all of one change are. */
const AT_A_TIME = 100;

const ACCEPTED = `select * from (
    select s.shift_date as date, n.name as shift, s.state, c.number as change, c.made_at as "madeAt", c.actor as "madeBy", s.starts_at
    from history.change c join history.shift s on s.project_id = c.project_id and s.from_change = c.number
    join calendar_shift n on n.id = s.calendar_shift_id join drive d on d.id = s.drive_id
    where c.number > $1 and d.code = $2 order by c.number fetch first ${AT_A_TIME} rows with ties) accepted
  order by change, starts_at`;

/** What happens to a drive, told while it happens. */
@Injectable()
export class LiveService {
  private streams = 0;

  constructor(
    private readonly database: Database,
    private readonly drives: DrivesService,
    private readonly feed: ChangeFeed,
    private readonly access: Access,
    private readonly authenticator: Authenticator,
    measures: Measures,
  ) {
    measures.gauge('drivebook_subscriptions', 'Subscriptions that are followed', [], () => [
      [{}, this.streams],
    ]);
  }

  /** Each shift of the drive that is taken from now on. */
  async acceptedShifts(
    drive: string,
    authorization: string | undefined,
  ): Promise<AsyncIterableIterator<AcceptedShift>> {
    await this.drives.get(drive);
    const [last] = await this.database.read<{ number: number }>(LAST_CHANGE);
    let seen = last?.number ?? 0;
    return this.follow(authorization, async () => {
      const taken = await this.database.read<AcceptedShift>(ACCEPTED, seen, drive);
      seen = taken.at(-1)?.change ?? seen;
      return { values: taken, more: taken.length >= AT_A_TIME };
    });
  }

  /** Where the face stands: now, and again each time that it stands elsewhere. */
  async facePositions(
    drive: string,
    authorization: string | undefined,
  ): Promise<AsyncIterableIterator<DriveProgress>> {
    await this.drives.get(drive);
    let told = '';
    return this.follow(authorization, async () => {
      const progress = await this.drives.progress(drive);
      const now = JSON.stringify(progress);
      const news = now === told ? [] : [progress];
      told = now;
      return { values: news };
    });
  }

  /** Every reading is in the scope in which it was asked for, and only while the credential and the right hold. */
  private follow<T>(
    authorization: string | undefined,
    read: () => Promise<News<T>>,
  ): AsyncIterableIterator<T> {
    const current = scope();
    if (this.streams >= MAX_STREAMS)
      throw new ProblemError('too_many_requests', `More than ${MAX_STREAMS} subscriptions at a time.`);
    this.streams += 1;
    return new LiveStream(
      (call) => {
        const leave = this.feed.listen(current.projectId, call);
        return () => {
          leave();
          this.streams -= 1;
        };
      },
      async () => {
        const principal = await this.authenticator.principalOf(authorization);
        await this.access.stillHolds(principal, current, 'record.read');
        return inScope(current, read);
      },
    );
  }
}
