import { columnsOfClass, jsonOf } from './kind-columns.js';
import type { Kind } from './kinds.service.js';
import { isSame, setAt, valueAt, withoutEmpty } from './cell-values.js';
import { columnsOfPart, type ImportRow, type Members, textIn } from './table-rows.js';

export const memberOf = (kind: Kind, row: ImportRow): Members => {
  const member: Members = {};
  for (const column of columnsOfPart(kind, row, 'member'))
    setAt(member, column.path, jsonOf(textIn(row, column.field), column));
  return Object.fromEntries(Object.entries(withoutEmpty(member)).filter(([, value]) => value !== null));
};

/** Members in the form of rows: one per inner member, combined with the member's own properties. */
export const rowsOfMembers = ({ inner }: NonNullable<Kind['members']>, members: Members[]): unknown[] =>
  inner === undefined
    ? members
    : members.flatMap(({ [inner]: list, ...own }) =>
        ((list as Members[] | undefined) ?? []).map((each) => ({ ...own, ...each })),
      );

/** The members represented by rows, with the indices of their rows: rows with the same own columns are one member. */
export const membersOfRows = (
  { members, columns }: Kind,
  rows: Members[],
): { member: Members; rows: number[] }[] => {
  const { inner, innerInput } = members ?? {};
  if (inner === undefined || !innerInput) return rows.map((member, place) => ({ member, rows: [place] }));
  const within = new Set(columnsOfClass(innerInput).map(({ path: [first = ''] }) => first));
  const own = columns
    .filter(({ part, path: [first = ''] }) => part === 'member' && !within.has(first))
    .map(({ path: [first = ''] }) => first);
  const found = new Map<string, { member: Members; rows: number[] }>();
  for (const [place, row] of rows.entries()) {
    const key = JSON.stringify(own.map((name) => row[name]));
    const rest = Object.entries(row).filter(([name]) => !own.includes(name));
    const of = found.get(key) ?? {
      member: {
        ...Object.fromEntries(Object.entries(row).filter(([name]) => own.includes(name))),
        [inner]: [],
      },
      rows: [],
    };
    (of.member[inner] as Members[]).push(Object.fromEntries(rest));
    of.rows.push(place);
    found.set(key, of);
  }
  return [...found.values()];
};

/** The row to which a fault within a list of members belongs, and the rest of its pointer. */
export const memberRow = (
  kind: Kind,
  rows: ImportRow[],
  index: string,
  rest: string[],
): { row?: ImportRow; rest: string[] } => {
  const { inner } = kind.members ?? {};
  if (inner === undefined) return { row: rows[Number(index)], rest };
  const found =
    membersOfRows(
      kind,
      rows.map((row) => memberOf(kind, row)),
    )[Number(index)]?.rows ?? [];
  const [name, place = '0', ...within] = rest;
  return name === inner
    ? { row: rows[found[Number(place)] ?? -1], rest: within }
    : { row: rows[found[0] ?? -1], rest };
};

export const isSameMember = (kind: Kind, one: Members, other: unknown): boolean =>
  kind.columns
    .filter(({ part }) => part === 'member')
    .every((column) => isSame(column, valueAt(one, column.path), valueAt(other, column.path)));
