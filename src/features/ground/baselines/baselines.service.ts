import { Injectable } from '@nestjs/common';
import { notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { driveFrame } from '../../../common/drive-frame.js';
import { Baseline, type BaselineInput, BaselineSummary } from './baseline.models.js';
import { baselineRows } from './baseline-rows.js';

const BASELINES_COLUMNS = columnsOf(BaselineSummary, 'b', {
  baseline: 'name',
  intervalCount: '(select count(*)::int from baseline_interval i where i.baseline_id = b.id)',
});

const BASELINES = sql`select ${BASELINES_COLUMNS} from baseline b where b.drive_id = $1 order by b.name`;

const BASELINE_COLUMNS = columnsOf(Baseline, 'b', {
  baseline: 'name',
  intervalCount: '(select count(*)::int from baseline_interval i where i.baseline_id = b.id)',
  intervals: {
    as: `(
    select json_agg(json_build_object('from', chainage_text(g.from_chainage_m), 'to', chainage_text(g.to_chainage_m), 'groundClass', g.ground_class_code,
      'lithology', g.lithology, 'waterInflowLPerMin', g.water_inflow_l_per_min::text, 'advanceRateMPerD', g.advance_rate_m_per_d::text) order by g.from_m)
    from baseline_ground g where g.drive_id = $1 and g.baseline_id = b.id)`,
  },
});

const BASELINE = sql`select ${BASELINE_COLUMNS} from baseline b where b.drive_id = $1 and b.name = $2`;

const CLASSES = 'select code, id from ground_class where project_id = scope_project()';

const HEAD = `insert into baseline (drive_id, name, working_hours_per_day, remark) values ($1, $2, $3::numeric, $4)
  on conflict (drive_id, name) do update set working_hours_per_day = excluded.working_hours_per_day, remark = excluded.remark
  returning id`;

const GIVEN = `(select * from jsonb_to_recordset($2::jsonb) as r("fromM" numeric, "toM" numeric, "groundClassId" int, lithology text,
  "waterInflowLPerMin" numeric, "advanceRateMPerD" numeric)) g`;

const SAME = `(i.from_m, i.to_m, i.ground_class_id, i.advance_rate_m_per_d) = (g."fromM", g."toM", g."groundClassId", g."advanceRateMPerD")
  and (i.lithology, i.water_inflow_l_per_min) is not distinct from (g.lithology, g."waterInflowLPerMin")`;

/** Unchanged intervals keep their rows, so that the history shows no change where nothing differs. */
const CLEAR = `delete from baseline_interval i where i.baseline_id = $1 and not exists (select from ${GIVEN} where ${SAME})`;

const FILL = `insert into baseline_interval (baseline_id, from_m, to_m, ground_class_id, lithology, water_inflow_l_per_min, advance_rate_m_per_d)
  select $1, g."fromM", g."toM", g."groundClassId", g.lithology, g."waterInflowLPerMin", g."advanceRateMPerD" from ${GIVEN}
  where not exists (select from baseline_interval i where i.baseline_id = $1 and ${SAME})`;

const USED = `select e.name from entitlement e join baseline b on b.id = e.baseline_id where b.drive_id = $1 and b.name = $2 order by e.name`;

/** The ground expected by the contract, in named versions. */
@Injectable()
export class BaselinesService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<BaselineSummary[]> {
    return this.drives.read(drive, BASELINES);
  }

  async get(drive: string, baseline: string): Promise<Baseline> {
    const [found] = await this.drives.read(drive, BASELINE, baseline);
    if (!found) throw noBaseline(drive, baseline);
    return found;
  }

  /** Replaces the baseline of that name. */
  async put(drive: string, baseline: string, input: BaselineInput): Promise<Baseline> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const classes = await readRows<{ code: string; id: number }>(transaction, CLASSES);
      const rows = baselineRows(
        input,
        await driveFrame(transaction, driveId),
        new Map(classes.map(({ code, id }) => [code, id])),
      );
      const [head] = await transaction.$queryRawUnsafe<{ id: number }[]>(
        HEAD,
        driveId,
        baseline,
        input.workingHoursPerDay,
        input.remark ?? null,
      );
      if (!head) throw new Error('the baseline was not written');
      await transaction.$executeRawUnsafe(CLEAR, head.id, JSON.stringify(rows));
      await transaction.$executeRawUnsafe(FILL, head.id, JSON.stringify(rows));
    });
    return this.get(drive, baseline);
  }

  /** @throws ProblemError conflict when a basis of time entitlement refers to it */
  async remove(drive: string, baseline: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [user] = await readRows<{ name: string }>(transaction, USED, driveId, baseline);
      if (user)
        throw new ProblemError(
          'in_use',
          `entitlement ${user.name} uses baseline ${baseline}: the baseline cannot be removed`,
        );
      const { count } = await transaction.baseline.deleteMany({ where: { driveId, name: baseline } });
      if (count === 0) throw noBaseline(drive, baseline);
    });
  }
}

export const noBaseline = (drive: string, baseline: string): ProblemError =>
  notFound(`baseline ${baseline} in drive ${drive}`);
