import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { pageFrom, pageOf } from '../../../common/api/paging.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { refusedAt } from '../../../common/api/refused-at.js';
import { daysOf } from '../../../common/api/ranges.js';
import { Database, readRows } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { Followers } from '../live/followers.service.js';
import { assertReached } from '../live/assert-reached.js';
import {
  Alert,
  ALERT_CAUTION,
  type AlertFilter,
  type AlertNews,
  type AlertPage,
  AlertRule,
  type AlertRuleInput,
} from './alert.models.js';

const RULES = sql`select ${columnsOf(AlertRule, 'r', { drive: 'd.code' })} from alert_rule r left join drive d on d.id = r.drive_id order by r.code`;

const PUT_RULE = `insert into alert_rule (code, kind, drive_id, threshold, is_on, remark) values ($1, $2, $3::int, $4::numeric, $5::boolean, $6)
  on conflict (project_id, code) do update set kind = excluded.kind, drive_id = excluded.drive_id, threshold = excluded.threshold,
    is_on = excluded.is_on, remark = excluded.remark`;

const REMOVE_RULE = `delete from alert_rule where code = $1 returning id`;

const DRIVE = `select id from drive where code = $1 and project_id = scope_project()`;

const alertColumns = (drive: string) =>
  columnsOf(Alert, '', {
    drive,
    limit: 'limit_value',
    state: `case when cleared_at is null then 'open' else 'cleared' end`,
    caution: false,
  });

const ONE = sql`select ${alertColumns('drive_code')} from alert_register where number = $1`;

const PAGE = sql`select ${alertColumns('drive_code')} from alert_register
  where number > $1 and ($2::text is null or is_open = ($2 = 'open')) and ($3::text is null or kind = $3) and ($4::int is null or drive_id = $4)
    and ($5::date is null or raised_on >= $5::date) and ($6::date is null or raised_on <= $6::date)
  order by number limit $7`;

/** The database sets who, when and why, whatever the statement says. */
const ACKNOWLEDGE = `update alert set acknowledged_at = clock_timestamp() where number = $1 and project_id = scope_project() returning id`;

const LAST_CHANGE = `select coalesce(max(number), 0) as number from change`;

/** Alerts reported at a time, plus the rest of the last change. */
const AT_A_TIME = 100;

const NEWS = `select * from (
    select ${alertColumns('(select d.code from drive d where d.id = a.drive_id)')}, a.from_change as change
    from history.alert a where a.project_id = scope_project() and a.from_change > $1 and ($2::int is null or a.drive_id = $2)
    order by a.from_change fetch first ${AT_A_TIME} rows with ties) news
  order by change, number`;

const PERMISSION = 'record.read';

type Uncautioned<T extends Alert> = Omit<T, 'caution'>;

const cautioned = <T>(alerts: T[]): (T & { caution: string })[] =>
  alerts.map((alert) => ({ ...alert, caution: ALERT_CAUTION }));

/** Alert rules of a project, and its alerts. Alerts are raised and cleared by the database: see raise_alerts in the migrations. */
@Injectable()
export class AlertsService {
  constructor(
    private readonly database: Database,
    private readonly followers: Followers,
  ) {}

  rules(): Promise<AlertRule[]> {
    return this.database.read(RULES);
  }

  rule(code: string): Promise<AlertRule> {
    return oneOf(this.rules(), (each) => each.code === code, named(code));
  }

  async putRule(code: string, input: AlertRuleInput): Promise<AlertRule> {
    const { kind, drive, threshold, isOn, remark } = input;
    const faults = faultsOf(input);
    const put = () =>
      this.database.ofProject(async (transaction) => {
        const [found] = drive == null ? [] : await readRows<{ id: number }>(transaction, DRIVE, drive);
        if (drive != null && !found)
          faults.push(body('/drive', drive, `drive ${drive} is not in project ${scope().project}`));
        if (faults.length > 0) throw faulty('invalid', faults);
        await transaction.$executeRawUnsafe(
          PUT_RULE,
          code,
          kind,
          found?.id ?? null,
          threshold ?? null,
          isOn ?? true,
          remark ?? null,
        );
      });
    await refusedAt('locked', { kind }, put);
    return this.rule(code);
  }

  async removeRule(code: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE_RULE, code);
      if (gone.length === 0) throw notFound(named(code));
    });
  }

  /** The alerts after a number, by number. @throws ProblemError invalid when the drive does not exist */
  page({ state, kind, drive, first, after, ...range }: AlertFilter): Promise<AlertPage> {
    const page = pageOf({ first, after }, 0);
    return this.database.reading(async (statements) => {
      const driveId = await this.driveIdOf(drive, (sql, code) => readRows(statements, sql, code));
      const filter = [state ?? null, kind ?? null, driveId, ...daysOf(range)];
      const rows = await readRows<Uncautioned<Alert>>(
        statements,
        PAGE,
        page.after,
        ...filter,
        page.first + 1,
      );
      return pageFrom(cautioned(rows), page.first, ({ number }) => number);
    });
  }

  async get(number: number): Promise<Alert> {
    const [alert] = cautioned(await this.database.read<Uncautioned<Alert>>(ONE, number));
    if (!alert) throw absent(number);
    return alert;
  }

  async acknowledge(number: number, reason: string): Promise<Alert> {
    await inScope({ ...scope(), reason: reason.trim() }, () =>
      this.database.ofProject(async (transaction) => {
        const found = await transaction.$queryRawUnsafe<{ id: number }[]>(ACKNOWLEDGE, number);
        if (found.length === 0) throw absent(number);
      }),
    );
    return this.get(number);
  }

  /** Each alert raised, acknowledged or cleared from now on, or since a given change. */
  async follow(
    authorization: string | undefined,
    drive?: string | null,
    since?: number | null,
  ): Promise<AsyncIterableIterator<AlertNews>> {
    const driveId = await this.driveIdOf(drive ?? undefined, (sql, code) => this.database.read(sql, code));
    const [last] = await this.database.read<{ number: number }>(LAST_CHANGE);
    const newest = last?.number ?? 0;
    assertReached(since ?? 0, newest);
    let seen = since ?? newest;
    return this.followers.follow({ authorization, permission: PERMISSION }, async () => {
      const news = await this.database.read<Uncautioned<AlertNews>>(NEWS, seen, driveId);
      seen = news.at(-1)?.change ?? seen;
      return { values: cautioned(news), more: news.length >= AT_A_TIME };
    });
  }

  private async driveIdOf(
    drive: string | undefined,
    read: (sql: string, code: string) => Promise<{ id: number }[]>,
  ): Promise<number | null> {
    if (drive == null) return null;
    const [found] = await read(DRIVE, drive);
    if (found) return found.id;
    const detail = `there is no drive ${drive} in project ${scope().project}`;
    throw faulty('invalid', [{ in: 'query', pointer: '/drive', value: drive, detail }]);
  }
}

const named = (code: string): string => `alert rule ${code} in project ${scope().project}`;

const absent = (number: number): Error => notFound(`alert ${number} in project ${scope().project}`);

const body = (pointer: string, value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer,
  value,
  detail,
});

/** Kinds whose limits are part of the record. */
const WITHOUT_THRESHOLD: readonly string[] = ['unsupported_above', 'inflow_above'];

const faultsOf = ({ kind, threshold }: AlertRuleInput): Fault[] => {
  if (kind === 'hold_point_passed')
    return [body('/kind', kind, 'a hold point that was passed always raises an alert: it takes no rule')];
  const takesNone = WITHOUT_THRESHOLD.includes(kind);
  if (takesNone && threshold != null)
    return [body('/threshold', threshold, `kind ${kind} takes no threshold: its limits are in the record`)];
  if (!takesNone && threshold == null)
    return [body('/threshold', threshold, `kind ${kind} needs a threshold`)];
  return [];
};
