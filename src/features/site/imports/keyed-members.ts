import { amountOf } from '../../../engineering/amount.js';
import { jsonOf } from './kind-columns.js';
import type { Kind, KindPut } from './kinds.service.js';
import { isSame, setAt, valueAt } from './cell-values.js';
import { isSameMember, memberOf, rowsOfMembers } from './members.js';
import { columnsOfPart, type Members, type TableRecord, textIn } from './table-rows.js';

/** The members of a record with a key, as they will be after the import. */
export interface KeyedMembers {
  list: Members[];
  /** whether they differ from the existing ones */
  isOther: boolean;
}

const nameOf = (kind: Kind, member: unknown): string =>
  String(valueAt(member, [kind.members?.key ?? '']) ?? '');

/** A member as its row describes it: the existing member, changed by the row. An empty cell clears its field. */
const saidOf = (kind: Kind, record: TableRecord, index: number, stands: Members | undefined): Members => {
  const row = record.rows[index];
  const said = structuredClone(stands ?? {});
  if (!row) return said;
  row.changes = [];
  for (const column of columnsOfPart(kind, row, 'member')) {
    const value = jsonOf(textIn(row, column.field), column);
    const before = valueAt(stands, column.path);
    if (isSame(column, before, value)) continue;
    setAt(said, column.path, value);
    row.changes.push({ field: column.field, from: before ?? null, to: value });
  }
  row.outcome = stands === undefined ? 'created' : row.changes.length > 0 ? 'updated' : 'unchanged';
  return Object.fromEntries(Object.entries(said).filter(([, value]) => value !== null));
};

/**
 * Applies the rows of a record to its members: existing ones are kept and changed, new ones are added. Records the outcome of each
 * row, and the row of each member.
 * @param replace  the members are only those of the table, in its order
 */
export const keyedMembers = (
  kind: Kind,
  record: TableRecord,
  standing: readonly Members[],
  replace: boolean,
): KeyedMembers => {
  const byName = new Map(standing.map((member) => [nameOf(kind, member), member]));
  const said = new Map(
    record.rows.map((row, index) => {
      const name = textIn(row, kind.members?.key ?? '');
      return [name, { row, member: saidOf(kind, record, index, byName.get(name)) }] as const;
    }),
  );
  const stays = replace ? [] : [...byName.keys()];
  const order = [...new Set([...stays, ...said.keys()])];
  record.memberRows = order.map((name) => said.get(name)?.row);
  record.removed = [...byName.keys()].filter((name) => !order.includes(name)).length;
  const list = order.map((name): Members => said.get(name)?.member ?? byName.get(name) ?? {});
  const isMoved = JSON.stringify(order) !== JSON.stringify([...byName.keys()]);
  return { list, isOther: isMoved || record.rows.some(({ outcome }) => outcome !== 'unchanged') };
};

/** Refuses a second row for the same member of a record. */
export const refuseTwice = (kind: Kind, { rows }: TableRecord): void => {
  const key = kind.members?.key;
  if (key === undefined) return;
  const lines = new Map<string, number>();
  for (const row of rows) {
    const name = textIn(row, key);
    const first = lines.get(name);
    if (first === undefined) lines.set(name, row.line);
    else if (name !== '')
      row.faults.push({
        field: key,
        value: name,
        detail: `${name} is listed twice, on lines ${first} and ${row.line}`,
      });
  }
};

const DECIMAL = /^-?\d{1,30}(\.\d{1,30})?$/;

/** Whether a cell equals a read-only value, to the decimals of that value: spreadsheets calculate with more. */
const isShown = (text: string, value: unknown): boolean => {
  const known = String(value);
  if (text === known) return true;
  if (!DECIMAL.test(text) || !DECIMAL.test(known)) return false;
  return amountOf(text, '1', known.split('.')[1]?.length ?? 0) === known;
};

/** Faults of cells with read-only values of a member: they must equal the result. @param after  the record after the write */
export const shownFaults = (kind: KindPut, { rows }: TableRecord, after: unknown): void => {
  const { members } = kind;
  const [first] = rows;
  if (!members || !first || columnsOfPart(kind, first, 'shown').length === 0) return;
  const { key, property } = members;
  const list = valueAt(after, [property]);
  const standing = rowsOfMembers(members, Array.isArray(list) ? (list as Members[]) : []);
  const byName = new Map(key === undefined ? [] : standing.map((each) => [nameOf(kind, each), each]));
  for (const row of rows) {
    const member =
      key === undefined
        ? standing.find((each) => isSameMember(kind, memberOf(kind, row), each))
        : byName.get(textIn(row, key));
    if (member === undefined) continue;
    for (const column of columnsOfPart(kind, row, 'shown')) {
      const text = textIn(row, column.field);
      const value = valueAt(member, column.path) ?? null;
      if (text === '' || isShown(text, value)) continue;
      row.faults.push({
        field: column.field,
        value: text,
        detail: `${column.field} is ${text}; from the other columns it is ${JSON.stringify(value)}`,
      });
    }
  }
};
