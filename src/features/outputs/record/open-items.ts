import { readRows, type Send, type Statements } from '../../../common/database/database.js';
import { columnsOf, extra, type Reading, sql } from '../../../common/database/reading.js';
import { sqlErrorOf } from '../../../common/database/sql-error.js';
import type { RecordDoubt } from '../../driving/doubts/doubt.models.js';
import { DOUBTS_OF_OTHERS, WITH_OTHERS } from '../../driving/doubts/doubts-of-others.js';
import { doubtsIn } from '../../driving/doubts/read-doubts.js';
import { type Doubted, doubtText } from '../../driving/doubts/doubt-words.js';
import { OpenItem, OpenItemKind } from './open-item.model.js';

const COLUMNS = columnsOf(OpenItem, '', {
  detail: false,
  date: 'shift_date',
  shift: 'shift_name',
  probeHole: `case when kind = 'probe_hole_without_time' then name end`,
  notice: `case when kind like 'notice%' then name end`,
  name: `case when kind = 'doubt' then name end`,
  limit: 'limit_value',
});

/** Additional data for the texts: the project's local times, and the event of a notice. */
interface InWords {
  fromLocal?: string;
  toLocal?: string;
  subject?: string;
}

const IN_WORDS = extra<InWords>({
  fromLocal: `to_char(from_local, 'YYYY-MM-DD HH24:MI')`,
  toLocal: `to_char(to_local, 'YYYY-MM-DD HH24:MI')`,
  subject: 'subject',
});

type Row = Omit<OpenItem, 'detail'> & InWords;

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
      return `${item.date ? `${shift}: ` : ''}${doubtText({ ...item, from: item.fromChainage, to: item.toChainage } as Doubted)}`;
  }
};

const inOrder = (where: string): Reading<Row> =>
  sql`select ${COLUMNS}, ${IN_WORDS} from open_item ${where} order by from_m nulls last, from_at, kind, name, doubt, line`;

const OF_DRIVE = inOrder('where drive_id = $1');
const OF_SHIFTS = inOrder('where drive_id = $2 and shift_id = any ($1::int[])');

const itemsOf = (rows: Row[]): OpenItem[] =>
  rows.map(({ fromLocal, toLocal, subject, ...item }) => ({
    ...item,
    detail: inWords({ ...item, fromLocal, toLocal, subject }),
  }));

/** What is still missing from the record of a drive. */
export const openItemsOfDrive = async (statements: Statements, driveId: number): Promise<OpenItem[]> =>
  itemsOf(await readRows(statements, OF_DRIVE, driveId));

/** What is still missing from some shifts, each item with the date and name of its shift. */
export const openItemsOfShifts = async (
  statements: Statements,
  driveId: number,
  shiftIds: number[],
): Promise<OpenItem[]> => itemsOf(await readRows(statements, OF_SHIFTS, shiftIds, driveId));

const ITEMS = `hold_complete($2, (select coalesce(json_agg(t), '[]') from (${inOrder('where shift_id = $1').sql}) t))::text as items`;

const OF_SHIFT = `select ${ITEMS}, '[]' as others`;

const OF_SHIFT_AND_OTHERS = `${WITH_OTHERS} select ${ITEMS}, ${DOUBTS_OF_OTHERS} as others`;

/** SQLSTATE of a shift that must be complete but is not. */
const INCOMPLETE = 'DB004';

/** What is still missing from a shift, and what in others is doubted because of what it bored. */
export interface ShiftOpen {
  openItems: OpenItem[];
  doubtsOfOthers: RecordDoubt[];
}

/**
 * What is still missing from one shift. If it must be complete, PostgreSQL refuses it: the commit may already have been sent.
 * @param withOthers  whether others can hang on it; if none can, they are not looked for, which takes as long as its own items
 */
export const openItemsOfShift = async (
  send: Send,
  shiftId: number,
  { mustBeComplete, withOthers = false }: { mustBeComplete: boolean; withOthers?: boolean },
): Promise<ShiftOpen> => {
  const { rows } = await send(withOthers ? OF_SHIFT_AND_OTHERS : OF_SHIFT, shiftId, mustBeComplete);
  const [{ items, others } = { items: '[]', others: '[]' }] = rows as { items: string; others: string }[];
  return { openItems: itemsOf(JSON.parse(items) as Row[]), doubtsOfOthers: doubtsIn(others) };
};

/** The items for which a shift was refused; undefined for other errors. */
export const refusedItems = (error: unknown): OpenItem[] | undefined => {
  const sql = sqlErrorOf(error);
  return sql?.state === INCOMPLETE ? itemsOf(JSON.parse(sql.detail ?? '[]') as Row[]) : undefined;
};
