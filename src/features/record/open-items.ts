import { readRows, type Statements } from '../../common/database/database.js';
import { OpenItemKind, type OpenItem } from './open-item.model.js';

const COLUMNS = `select kind, shift_date as date, shift_name as shift, stroke_number as "strokeNumber",
  chainage_text(from_chainage_m) as "fromChainage", chainage_text(to_chainage_m) as "toChainage", missing_m::text as "missingM",
  from_at as "fromAt", to_at as "toAt", missing_minutes::text as "missingMinutes", ledger_hours::text as "ledgerHours",
  boring_hours::text as "boringHours", to_char(from_local, 'YYYY-MM-DD HH24:MI') as "fromLocal", to_char(to_local, 'YYYY-MM-DD HH24:MI') as "toLocal" from open_item`;

interface Row extends Omit<OpenItem, 'detail'> {
  /** local times of the project, for the words */
  fromLocal?: string;
  toLocal?: string;
}

const inWords = (item: Row): string => {
  const shift = `shift ${item.date} ${item.shift}`;
  switch (item.kind) {
    case OpenItemKind.metres_missing:
      return `stroke ${item.strokeNumber} starts at ${item.toChainage}, but the face stood at ${item.fromChainage}: ${item.missingM} m missing`;
    case OpenItemKind.minutes_missing:
      return `${shift}: no activity from ${item.fromLocal} to ${item.toLocal}: ${item.missingMinutes} minutes missing`;
    case OpenItemKind.boring_time_differs:
      return `${shift}: ${item.ledgerHours} h of boring in the activities, but ${item.boringHours} h in the strokes`;
    case OpenItemKind.shift_missing:
      return `${shift} is not posted`;
  }
};

const read = async (statements: Statements, where: string, id: number): Promise<OpenItem[]> => {
  const rows = await readRows<Row>(
    statements,
    `${COLUMNS} ${where} order by from_m nulls last, from_at, kind`,
    id,
  );
  return rows.map(({ fromLocal, toLocal, ...item }) => ({
    ...item,
    detail: inWords({ ...item, fromLocal, toLocal }),
  }));
};

/** What the record of a drive still misses. */
export const openItemsOfDrive = (statements: Statements, driveId: number): Promise<OpenItem[]> =>
  read(statements, 'where drive_id = $1', driveId);

/** What one shift still misses. */
export const openItemsOfShift = (statements: Statements, shiftId: number): Promise<OpenItem[]> =>
  read(statements, 'where shift_id = $1', shiftId);
