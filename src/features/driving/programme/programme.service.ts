import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { driveId, DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { Programme, ProgrammeDay, type ProgrammeInput, ProgrammeSummary } from './programme.models.js';
import { programmeRows } from './programme-rows.js';

const PROGRAMMES = sql`select ${columnsOf(ProgrammeSummary)} from programme where drive_id = $1 order by programme`;

const PROGRAMME_COLUMNS = columnsOf(Programme, '', {
  points: {
    as: `(
    select json_agg(json_build_object('date', r.planned_day, 'chainage', chainage_at(r.drive_id, r.planned_m)) order by r.planned_day)
    from programme_point r where r.drive_id = $1 and r.programme = $2)`,
  },
});

const PROGRAMME = sql`select ${PROGRAMME_COLUMNS} from programme where drive_id = $1 and programme = $2`;

const PROGRESS = sql`select ${columnsOf(ProgrammeDay)} from programme_progress($1, $2, $3) order by production_day`;

const LOCK = 'select lock_drive($1)::text';

/** Unchanged points keep their rows, so that the history shows no change where nothing differs. */
const REPLACE = `with given as (select * from jsonb_to_recordset($3::jsonb) as r(day date, m numeric)),
  gone as (delete from programme_point where drive_id = $1 and programme = $2 and planned_day not in (select day from given))
  insert into programme_point (drive_id, programme, planned_day, planned_m) select $1, $2, day, m from given
  on conflict (drive_id, programme, planned_day) do update set planned_m = excluded.planned_m`;

/** Planned face positions by programme, and the drive's progress against them. */
@Injectable()
export class ProgrammeService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<ProgrammeSummary[]> {
    return this.drives.read(drive, PROGRAMMES);
  }

  async get(drive: string, programme: string): Promise<Programme> {
    const [found] = await this.drives.read(drive, PROGRAMME, programme);
    if (!found) throw absent(drive, programme);
    return found;
  }

  async progress(drive: string, programme: string): Promise<ProgrammeDay[]> {
    const days = (await this.drives.readByCodes(drive, PROGRESS, programme)).rows();
    if (days.length === 0) throw absent(drive, programme);
    return days;
  }

  /** Replaces the points. */
  async put(drive: string, programme: string, input: ProgrammeInput): Promise<Programme> {
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      await transaction.$queryRawUnsafe(LOCK, id); // serialises concurrent replacements
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
