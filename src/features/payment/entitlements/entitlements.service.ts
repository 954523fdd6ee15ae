import { Injectable } from '@nestjs/common';
import { notFound, type ProblemError } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, extra, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { Entitlement, type EntitlementInput } from './entitlement.models.js';
import {
  ENTITLEMENT_CAUTION,
  EntitlementHorizon,
  EntitlementLine,
  EntitlementResult,
} from './entitlement-result.models.js';
import { entitlementRows, type Known } from './entitlement-rows.js';

const ENTITLEMENTS_COLUMNS = columnsOf(Entitlement, 'e', {
  baseline: 'b.name',
  items: {
    as: `(
    select coalesce(json_agg(json_build_object('code', i.code, 'source', i.source, 'reference', nullif(i.reference, ''),
      'hoursPerUnit', i.hours_per_unit::text, 'tenderedQuantity', i.tendered_quantity::text) order by i.line), '[]')
    from entitlement_item i where i.entitlement_id = e.id)`,
  },
  entitlement: 'name',
});

const ENTITLEMENTS = sql`select ${ENTITLEMENTS_COLUMNS} from entitlement e left join baseline b on b.id = e.baseline_id
  where e.drive_id = $1 and ($2::text is null or e.name = $2) order by e.name`;

const KNOWN = `select (select id from baseline where drive_id = $1 and name = $2) as "baselineId", json_build_object(
  'support_item', (select coalesce(json_agg(code), '[]') from support_item where project_id = scope_project()),
  'activity_hours', (select coalesce(json_agg(code), '[]') from activity_code where project_id = scope_project()),
  'class_metres', (select coalesce(json_agg(code), '[]') from ground_class where project_id = scope_project())) as codes`;

const HEAD = `insert into entitlement (drive_id, name, rule, baseline_id, tendered_weeks, working_hours_per_week, remark)
  values ($1, $2, $3::entitlement_rule, $4::int, $5::numeric, $6::numeric, $7)
  on conflict (drive_id, name) do update set rule = excluded.rule, baseline_id = excluded.baseline_id, tendered_weeks = excluded.tendered_weeks,
    working_hours_per_week = excluded.working_hours_per_week, remark = excluded.remark
  returning id`;

const GIVEN = `(select * from jsonb_to_recordset($2::jsonb) as r(line int, code text, source entitlement_source, reference text,
  "hoursPerUnit" numeric, "tenderedQuantity" numeric)) g`;

const SAME = `(i.line, i.code, i.source, i.reference, i.hours_per_unit, i.tendered_quantity)
  = (g.line, g.code, g.source, g.reference, g."hoursPerUnit", g."tenderedQuantity")`;

/** Unchanged items keep their rows, so that the history shows no change where nothing differs. */
const CLEAR = `delete from entitlement_item i where i.entitlement_id = $1 and not exists (select from ${GIVEN} where ${SAME})`;

const FILL = `insert into entitlement_item (entitlement_id, line, code, source, reference, hours_per_unit, tendered_quantity)
  select $1, g.line, g.code, g.source, g.reference, g."hoursPerUnit", g."tenderedQuantity" from ${GIVEN}
  where not exists (select from entitlement_item i where i.entitlement_id = $1 and ${SAME})`;

const RESULT_COLUMNS = columnsOf(EntitlementResult, '', {
  horizon: false,
  lines: false,
  unanswered: false,
  caution: false,
});

const RESULT = sql`select ${RESULT_COLUMNS}, ${extra<Pick<Sums, 'unratedClasses'>>({ unratedClasses: 'unrated_classes' })}
  from entitlement_result($1, $2, $3, $4)`;

const LINES_COLUMNS = columnsOf(EntitlementLine, '', {
  actualQuantity: `round(actual_quantity, case source when 'activity_hours' then 4 else 3 end)`,
});

const LINES = sql`select ${LINES_COLUMNS} from entitlement_line($1, $2, $3, $4) order by line`;

type Sums = Omit<EntitlementResult, 'horizon' | 'lines' | 'unanswered' | 'caution'> & {
  unratedClasses: string[];
};

/** Why there is no sum, in words. */
const unanswered = ({ unratedClasses, baseline, extensionWeeks }: Sums): string | undefined => {
  if (unratedClasses.length > 0)
    return `no sum: baseline ${baseline} has no advance rate of ${unratedClasses.join(', ')}, which was encountered; an item of class_metres can give one`;
  return extensionWeeks == null ? 'no extension: nothing was tendered, so there is no proportion' : undefined;
};

/** The time that the contract allows for the ground and quantities encountered. */
@Injectable()
export class EntitlementsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<Entitlement[]> {
    return this.drives.read(drive, ENTITLEMENTS, null);
  }

  async get(drive: string, entitlement: string): Promise<Entitlement> {
    const [found] = await this.drives.read(drive, ENTITLEMENTS, entitlement);
    if (!found) throw absent(drive, entitlement);
    return found;
  }

  result(
    drive: string,
    entitlement: string,
    horizon: EntitlementHorizon = EntitlementHorizon.to_date,
  ): Promise<EntitlementResult> {
    return this.drives.reading(drive, async (_, statements) => {
      const codes = [scope().project, drive, entitlement, horizon];
      const [sums] = await readRows(statements, RESULT, ...codes);
      if (!sums) throw absent(drive, entitlement);
      const { unratedClasses, ...reported } = sums;
      return {
        horizon,
        ...reported,
        lines: await readRows(statements, LINES, ...codes),
        unanswered: unanswered({ ...reported, unratedClasses }),
        caution: ENTITLEMENT_CAUTION,
      };
    });
  }

  /** Replaces the basis of that name. */
  async put(drive: string, entitlement: string, input: EntitlementInput): Promise<Entitlement> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [known] = await readRows<Known>(transaction, KNOWN, driveId, input.baseline ?? null);
      if (!known) throw new Error('nothing is known');
      const rows = JSON.stringify(entitlementRows(input, known));
      const [head] = await transaction.$queryRawUnsafe<{ id: number }[]>(
        HEAD,
        driveId,
        entitlement,
        input.rule,
        known.baselineId,
        input.tenderedWeeks,
        input.workingHoursPerWeek,
        input.remark ?? null,
      );
      if (!head) throw new Error('the basis was not written');
      await transaction.$executeRawUnsafe(CLEAR, head.id, rows);
      await transaction.$executeRawUnsafe(FILL, head.id, rows);
    });
    return this.get(drive, entitlement);
  }

  async remove(drive: string, entitlement: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.entitlement.deleteMany({ where: { driveId, name: entitlement } });
      if (count === 0) throw absent(drive, entitlement);
    });
  }
}

const absent = (drive: string, entitlement: string): ProblemError =>
  notFound(`entitlement ${entitlement} in drive ${drive}`);
