import { readRows, type Send, type Statements } from '../../../common/database/database.js';
import { sqlErrorOf } from '../../../common/database/sql-error.js';
import { type Doubted, doubtInWords } from '../../driving/doubts/doubt-words.js';
import { OpenItemKind, type OpenItem } from './open-item.model.js';

const COLUMNS = `select kind, shift_date as date, shift_name as shift, stroke_number as "strokeNumber",
  chainage_text(from_chainage_m) as "fromChainage", chainage_text(to_chainage_m) as "toChainage", missing_m::text as "missingM",
  from_at as "fromAt", to_at as "toAt", missing_minutes::text as "missingMinutes", ledger_hours::text as "ledgerHours",
  boring_hours::text as "boringHours", to_char(from_local, 'YYYY-MM-DD HH24:MI') as "fromLocal", to_char(to_local, 'YYYY-MM-DD HH24:MI') as "toLocal",
  case when kind = 'probe_hole_without_time' then name end as "probeHole", case when kind like 'notice%' then name end as notice,
  due_on as "dueOn", days_left as "daysLeft", subject, doubt, record, case when kind = 'doubt' then name end as name, line, measured::text as measured,
  limit_value::text as limit, unit from open_item`;

interface Row extends Omit<OpenItem, 'detail'> {
  /** local times of the project, for the words */
  fromLocal?: string;
  toLocal?: string;
  /** what a notice is due for */
  subject?: string;
}

const inDays = (days: number): string => `${days} ${days === 1 ? 'day' : 'days'}`;

const inWords = (item: Row): string => {
  const shift = `shift ${item.date} ${item.shift}`;
  switch (item.kind) {
    case OpenItemKind.metres_missing:
      return `stroke ${item.strokeNumber} starts at ${item.toChainage}, but the face was at ${item.fromChainage}: ${item.missingM} m missing`;
    case OpenItemKind.minutes_missing:
      return `${shift}: no activity from ${item.fromLocal} to ${item.toLocal}: ${item.missingMinutes} minutes missing`;
    case OpenItemKind.boring_time_differs:
      return `${shift}: ${item.ledgerHours} h of boring in the activities, but ${item.boringHours} h in the strokes`;
    case OpenItemKind.shift_missing:
      return `${shift} is not posted`;
    case OpenItemKind.probe_hole_without_time:
      return `probe hole ${item.probeHole} at ${item.fromChainage} has no time of drilling: it gives no cover and pays nothing`;
    case OpenItemKind.notice_due:
      return `notice ${item.notice} is due by ${item.dueOn}, ${inDays(item.daysLeft ?? 0)} left: ${item.subject}`;
    case OpenItemKind.notice_overdue:
      return `notice ${item.notice} was due by ${item.dueOn}, ${inDays(-(item.daysLeft ?? 0))} ago: ${item.subject}`;
    case OpenItemKind.doubt:
      return `${item.date ? `${shift}: ` : ''}${doubtInWords({ ...item, from: item.fromChainage, to: item.toChainage } as Doubted)}`;
  }
};

const inOrder = (where: string): string =>
  `${COLUMNS} ${where} order by from_m nulls last, from_at, kind, name, doubt, line`;

const itemsOf = (rows: Row[]): OpenItem[] =>
  rows.map(({ fromLocal, toLocal, subject, ...item }) => ({
    ...item,
    detail: inWords({ ...item, fromLocal, toLocal, subject }),
  }));

/** What the record of a drive still misses. */
export const openItemsOfDrive = async (statements: Statements, driveId: number): Promise<OpenItem[]> =>
  itemsOf(await readRows<Row>(statements, inOrder('where drive_id = $1'), driveId));

/** What some shifts still miss, each item with the date and name of its shift. */
export const openItemsOfShifts = async (
  statements: Statements,
  driveId: number,
  shiftIds: number[],
): Promise<OpenItem[]> =>
  itemsOf(
    await readRows<Row>(
      statements,
      inOrder('where drive_id = $2 and shift_id = any ($1::int[])'),
      shiftIds,
      driveId,
    ),
  );

const OF_SHIFT = `select hold_complete($2, coalesce(json_agg(t), '[]'))::text as items from (${inOrder('where shift_id = $1')}) t`;

/** SQLSTATE of a shift that must be complete and is not. */
const INCOMPLETE = 'DB004';

/**
 * What one shift still misses. When it must be complete and is not, PostgreSQL refuses: the commit may be on its way already.
 */
export const openItemsOfShift = async (
  send: Send,
  shiftId: number,
  mustBeComplete: boolean,
): Promise<OpenItem[]> => {
  const { rows } = await send(OF_SHIFT, shiftId, mustBeComplete);
  return itemsOf(JSON.parse((rows as { items: string }[])[0]?.items ?? '[]') as Row[]);
};

/** The items for which a shift was refused; undefined when the error says something else. */
export const refusedItems = (error: unknown): OpenItem[] | undefined => {
  const sql = sqlErrorOf(error);
  return sql?.state === INCOMPLETE ? itemsOf(JSON.parse(sql.detail ?? '[]') as Row[]) : undefined;
};
