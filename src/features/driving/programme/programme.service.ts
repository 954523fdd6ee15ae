import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { driveId, DriveReader } from '../../../common/database/drive-reader.service.js';
import { driveFrame } from '../../../common/drive-frame.js';
import type { Programme, ProgrammeDay, ProgrammeInput, ProgrammeSummary } from './programme.models.js';
import { programmeRows } from './programme-rows.js';

const SUMMARY = `programme, point_count as "pointCount", first_day as "firstDay", last_day as "lastDay",
  chainage_text(from_chainage_m) as "fromChainage", chainage_text(to_chainage_m) as "toChainage"`;

const PROGRAMMES = `select ${SUMMARY} from programme where drive_id = $1 order by programme`;

const PROGRAMME = `select ${SUMMARY}, (
    select json_agg(json_build_object('date', r.planned_day, 'chainage', chainage_at(r.drive_id, r.planned_m)) order by r.planned_day)
    from programme_point r where r.drive_id = $1 and r.programme = $2) as points
  from programme where drive_id = $1 and programme = $2`;

const PROGRESS = `select production_day as "productionDay", planned_m::text as "plannedM", chainage_text(planned_chainage_m) as "plannedChainage",
  actual_m::text as "actualM", chainage_text(actual_chainage_m) as "actualChainage", ahead_m::text as "aheadM", ahead_days::text as "aheadDays"
  from programme_progress($1, $2, $3) order by production_day`;

const LOCK = 'select lock_drive($1)::text';

/** The points that stay keep their rows, and history tells no change where nothing differs. */
const REPLACE = `with given as (select * from jsonb_to_recordset($3::jsonb) as r(day date, m numeric)),
  gone as (delete from programme_point where drive_id = $1 and programme = $2 and planned_day not in (select day from given))
  insert into programme_point (drive_id, programme, planned_day, planned_m) select $1, $2, day, m from given
  on conflict (drive_id, programme, planned_day) do update set planned_m = excluded.planned_m`;

/** Where the face is to stand, by programme, and how the drive goes against it. */
@Injectable()
export class ProgrammeService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<ProgrammeSummary[]> {
    return this.drives.read<ProgrammeSummary>(drive, PROGRAMMES);
  }

  async get(drive: string, programme: string): Promise<Programme> {
    const [found] = await this.drives.read<Programme>(drive, PROGRAMME, programme);
    if (!found) throw absent(drive, programme);
    return found;
  }

  async progress(drive: string, programme: string): Promise<ProgrammeDay[]> {
    const days = (await this.drives.readByCodes<ProgrammeDay>(drive, PROGRESS, programme)).rows();
    if (days.length === 0) throw absent(drive, programme);
    return days;
  }

  /** Puts the points in the place of those that stood. */
  async put(drive: string, programme: string, input: ProgrammeInput): Promise<Programme> {
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      await transaction.$queryRawUnsafe(LOCK, id); // two that replace it follow each other
      const rows = programmeRows(input, await driveFrame(transaction, id));
      await transaction.$executeRawUnsafe(REPLACE, id, programme, JSON.stringify(rows));
    });
    return this.get(drive, programme);
  }

  async remove(drive: string, programme: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      const { count } = await transaction.programmePoint.deleteMany({ where: { driveId: id, programme } });
      if (count === 0) throw absent(drive, programme);
    });
  }
}

const absent = (drive: string, programme: string): Error =>
  notFound(`programme ${programme} in drive ${drive}`);
