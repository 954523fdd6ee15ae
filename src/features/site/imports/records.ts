import { assertGivenBack, type GivenBack, takeGivenBack } from '../../../common/api/given-back.js';
import { isObject } from '../../../common/api/is-object.js';
import { heading } from '../../../common/files/table/cell.js';
import { plainDecimal } from '../../../engineering/amount.js';
import { parseChainage } from '../../../engineering/chainage.js';
import { type Fault, ProblemError } from '../../../common/api/problem.js';
import { keyedMembers, refuseTwice, shownFaults } from './keyed-members.js';
import { columnsOfClass, jsonOf } from './kind-columns.js';
import type { Kind, KindColumn, KindPut } from './kinds.service.js';
import type { ReadCell, ReadRow } from './read-job.js';

export interface RowFault {
  /** '' for the row as a whole */
  field: string;
  value?: unknown;
  detail: string;
}

export interface RowChange {
  field: string;
  from: unknown;
  to: unknown;
}

/** A row of the table being imported. */
export interface ImportRow {
  line: number;
  /** key of its record; absent when it cannot be read */
  key?: string;
  /** one for each of the fields */
  cells: readonly ReadCell[];
  /** of the table, in the order of its columns */
  fields: readonly string[];
  faults: RowFault[];
  /** where it was read differently from how it was written */
  notes?: string[];
  /** outcome of the member that it represents, if that has a key */
  outcome?: Outcome;
  changes?: RowChange[];
}

export type Outcome = 'created' | 'unchanged' | 'updated';

/** A record as in the table: one row, or the rows of its members. */
export interface TableRecord {
  keys: Record<string, string>;
  /** tells it apart from others of its key; undefined: the table has no such column */
  revision?: string;
  rows: ImportRow[];
  outcome?: Outcome;
  changes: RowChange[];
  /** the row of each member in the order sent; undefined: the member is not in the table */
  memberRows?: (ImportRow | undefined)[];
  /** number of existing members that are not sent */
  removed?: number;
  /** it is rejected for read-only values alone, which differ */
  isToldOtherwise?: boolean;
}

export type Members = Record<string, unknown>;

const EMPTY: ReadCell = { text: '' };

/** @param fields  one array for all rows of a table */
export const rowOf = ({ line, cells, broken }: ReadRow, fields: string[]): ImportRow => {
  const faults: RowFault[] = [];
  const filled = fields.map((field, place) => {
    const cell = cells[place] ?? EMPTY;
    if (broken === undefined && cell.fault !== undefined)
      faults.push({ field, value: cell.text, detail: cell.fault });
    return cell;
  });
  if (broken !== undefined) faults.push({ field: '', detail: broken });
  return { line, fields, cells: filled, faults };
};

export const cellIn = ({ cells, fields }: ImportRow, field: string): ReadCell | undefined =>
  cells[fields.indexOf(field)];

export const textIn = (row: ImportRow, field: string): string => cellIn(row, field)?.text ?? '';

type Columns = readonly KindColumn[];

/** Columns by the fields of a table, which its rows share. */
const found = new WeakMap<readonly string[], Map<string, { of: Columns; columns: KindColumn[] }>>();

/** The columns of a part that the table has. */
export const columnsOfPart = (
  { columns }: Pick<Kind, 'columns'>,
  { fields }: ImportRow,
  part: KindColumn['part'],
): KindColumn[] => {
  const parts = found.get(fields) ?? new Map<string, { of: Columns; columns: KindColumn[] }>();
  found.set(fields, parts);
  const before = parts.get(part);
  if (before?.of === columns) return before.columns;
  const own = columns.filter((column) => column.part === part && fields.includes(column.field));
  parts.set(part, { of: columns, columns: own });
  return own;
};

const revisionOf = ({ revision }: Kind, row: ImportRow): string | undefined =>
  revision !== undefined && row.fields.includes(revision) ? textIn(row, revision) : undefined;

/** What tells the record of a row apart from others: the parts of its key, and its revision. */
export const identityOf = (kind: Kind, row: ImportRow): string[] => {
  const revision = revisionOf(kind, row);
  return [
    ...kind.keys.map(({ heading }) => textIn(row, heading)),
    ...(revision === undefined ? [] : [revision]),
  ];
};

/** The kind of a row: another than its table's where they have one list. */
export const kindOfRow = (kind: Kind, row: ImportRow): Kind => {
  const { others } = kind;
  return others && (textIn(row, others.column) !== '') === others.filled ? others.kind() : kind;
};

/** Keeps the faults with which rows were read. @returns discards those found since, as of an attempt that lost a race */
export const faultsKept = (rows: readonly ImportRow[]): (() => void) => {
  const read = rows.map(({ faults }) => [...faults]);
  return () => {
    for (const [index, { faults }] of rows.entries()) faults.splice(0, faults.length, ...(read[index] ?? []));
  };
};

/** The records of the rows, in order of their first rows. A row without its key, or a duplicate record, is a fault. */
export const recordsOf = (kind: Kind, rows: readonly ImportRow[]): TableRecord[] => {
  const records = new Map<string, TableRecord>();
  for (const row of rows) {
    const missing = kind.keys.filter(({ heading }) => textIn(row, heading) === '');
    for (const { heading } of missing)
      if (row.faults.length === 0)
        row.faults.push({ field: heading, value: '', detail: `${heading} is missing` });
    if (missing.length > 0) continue;
    const keys = Object.fromEntries(kind.keys.map(({ param, heading }) => [param, textIn(row, heading)]));
    const revision = revisionOf(kind, row);
    const named = identityOf(kind, row);
    row.key = named.filter((part) => part !== '').join(' ');
    const key = JSON.stringify(named);
    const before = records.get(key);
    const [first] = before?.rows ?? [];
    if (!before || !first) {
      records.set(key, { keys, revision, rows: [row], changes: [] });
      continue;
    }
    if (kind.members) {
      before.rows.push(row);
      for (const { field } of [...columnsOfPart(kind, row, 'record'), ...columnsOfPart(kind, row, 'etag')])
        if (textIn(row, field) !== textIn(first, field))
          row.faults.push({
            field,
            value: textIn(row, field),
            detail: `${field} of one ${kind.members.record} differs: ${textIn(first, field) || 'empty'} on line ${first.line}`,
          });
    } else {
      row.faults.push({
        field: kind.keys.at(-1)?.heading ?? '',
        value: row.key,
        detail: `${row.key} is listed twice, on lines ${first.line} and ${row.line}`,
      });
    }
  }
  for (const record of records.values()) refuseTwice(kind, record);
  return [...records.values()];
};

/** Whether a row is not a member of a record: a title or a total, in a table made for printing. */
export const isPassedOver = ({ members }: Kind, row: ImportRow): boolean =>
  members?.making !== undefined &&
  row.faults.every(({ field }) => field !== '') &&
  members.making.every((field) => textIn(row, field) === '');

export const setAt = (target: Members, path: string[], value: unknown): void => {
  const [name = '', ...rest] = path;
  if (rest.length === 0) {
    target[name] = value;
    return;
  }
  const inner = target[name];
  const next: Members = isObject(inner) ? (inner as Members) : {};
  target[name] = next;
  setAt(next, rest, value);
};

export const valueAt = (source: unknown, path: readonly string[]): unknown =>
  path.reduce<unknown>((value, step) => (isObject(value) ? (value as Members)[step] : undefined), source);

/** Drops an object in which every property is empty. */
const withoutEmpty = (value: Members): Members => {
  for (const [name, inner] of Object.entries(value))
    if (isObject(inner)) {
      withoutEmpty(inner as Members);
      if (Object.values(inner).every((each) => each === null || each === undefined)) value[name] = null;
    }
  return value;
};

const DECIMAL = /^-?\d{1,30}(\.\d{1,30})?$/;

const attempt = <T>(work: () => T): T | undefined => {
  try {
    return work();
  } catch (error) {
    if (error instanceof RangeError) return undefined;
    throw error;
  }
};

/** A value as far as a cell shows it: not an empty text, blanks around a text, or how its lines end. */
const inCell = ({ type }: Pick<KindColumn, 'type'>, value: unknown): unknown => {
  if (type !== 'text' || typeof value !== 'string') return value ?? null;
  const text = heading(value);
  return text === '' ? null : text;
};

/** Whether two values of a column are equal: 12.5 and 12.500, 1+204 and 1204, 06:00Z and 07:00+01:00. */
export const isSame = (column: Pick<KindColumn, 'type'>, one: unknown, other: unknown): boolean => {
  const [a, b] = [inCell(column, one), inCell(column, other)];
  if (a === null || b === null) return a === b;
  if (typeof a === 'object' || typeof b === 'object') return JSON.stringify(a) === JSON.stringify(b);
  const [x, y] = [String(a), String(b)];
  if (x === y) return true;
  switch (column.type) {
    case 'number':
    case 'reading':
      return DECIMAL.test(x) && DECIMAL.test(y)
        ? plainDecimal(x) === plainDecimal(y)
        : Number(x) === Number(y);
    case 'chainage': {
      const at = attempt(() => parseChainage(x));
      return at !== undefined && at === attempt(() => parseChainage(y));
    }
    case 'instant':
      return Date.parse(x) === Date.parse(y);
    default:
      return false;
  }
};

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
const membersOfRows = (
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
const memberRow = (
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

/**
 * The body to send for a record: the existing record, changed by the table. Columns that the table lacks stay; a list of members
 * is taken from the table as a whole, unless its members have keys.
 * @param standing  the body that would leave the record unchanged; undefined: it does not exist
 */
export const bodyOf = (
  kind: KindPut,
  record: TableRecord,
  standing: Members | undefined,
  replace = false,
): { body: Members; changes: RowChange[]; given: GivenBack[] } => {
  const { rows } = record;
  const body = standing === undefined ? {} : structuredClone(standing);
  const changes: RowChange[] = [];
  const [first] = rows;
  if (!first) return { body, changes, given: [] };
  const columns = columnsOfPart(kind, first, 'record');
  const said: Members = {};
  for (const column of columns) setAt(said, column.path, jsonOf(textIn(first, column.field), column));
  const given = takeGivenBack(said, kind.input, kind.answer);
  for (const column of columns) {
    const value = valueAt(said, column.path) ?? null;
    const stands = valueAt(standing, column.path);
    if (isSame(column, stands, value)) continue;
    setAt(body, column.path, value);
    changes.push({ field: column.field, from: stands ?? null, to: value });
  }
  if (kind.members) {
    const { property, key } = kind.members;
    const standingMembers = (standing?.[property] as Members[] | undefined) ?? [];
    if (key !== undefined) {
      const { list, isOther } = keyedMembers(kind, record, standingMembers, replace);
      body[property] = list;
      if (isOther)
        changes.push({ field: property, from: `${standingMembers.length} rows`, to: `${list.length} rows` });
      return { body: withoutEmpty(body), changes, given };
    }
    const said = rows.map((row) => memberOf(kind, row));
    const stands = rowsOfMembers(kind.members, standingMembers);
    if (
      said.length !== stands.length ||
      said.some((each, index) => !isSameMember(kind, each, stands[index]))
    ) {
      body[property] = membersOfRows(kind, said).map(({ member }) => member);
      changes.push({ field: property, from: `${stands.length} rows`, to: `${said.length} rows` });
    }
  }
  return { body: withoutEmpty(body), changes, given };
};

/** Faults of cells with read-only values of the record: they must equal the existing value or the result, which comes last. */
export const givenBackFaults = (
  kind: KindPut,
  record: TableRecord,
  given: readonly GivenBack[],
  answers: readonly unknown[],
): void => {
  try {
    assertGivenBack(given, answers);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    noteFaults(kind, record, error.faults, error.message);
  }
  shownFaults(kind, record, answers.at(-1));
  for (const row of record.rows)
    for (const column of columnsOfPart(kind, row, 'answer')) {
      const text = textIn(row, column.field);
      const known = answers
        .map((answer) => valueAt(answer, column.path))
        .filter((value) => value !== undefined);
      if (text === '' || known.length === 0) continue;
      const value = jsonOf(text, column);
      if (known.some((each) => isSame(column, each, value))) continue;
      row.faults.push({
        field: column.field,
        value: text,
        detail: `${column.field} cannot be changed (current value ${JSON.stringify(known.at(-1))}): omit it or send it unchanged`,
      });
    }
};

/** Assigns the faults of a write to the rows that their pointers name. */
export const noteFaults = (
  kind: Kind,
  { rows, memberRows }: TableRecord,
  faults: readonly Fault[],
  message: string,
): void => {
  const [first] = rows;
  if (!first) return;
  const found = faults.length > 0 ? faults : [{ in: 'body' as const, pointer: '', detail: message }];
  for (const { in: where, pointer, value, detail } of found) {
    const [head = '', index = '', ...rest] = pointer.slice(1).split('/');
    if (where === 'header') {
      first.faults.push({
        field: 'etag',
        detail: detail.replace('send If-Match with', 'give in a column etag'),
      });
      continue;
    }
    const isMember = kind.members?.property === head && /^\d+$/.test(index);
    const { row, rest: within } = !isMember
      ? { row: first, rest }
      : memberRows
        ? { row: memberRows[Number(index)], rest }
        : memberRow(kind, rows, index, rest);
    const path = (isMember ? within : [head, index, ...within]).filter((step) => step !== '');
    const part = where === 'path' ? 'key' : isMember ? 'member' : 'record';
    const column = kind.columns.find((each) => each.part === part && each.path.join('/') === path.join('/'));
    (row ?? first).faults.push({ field: column?.field ?? path.join('.'), value, detail });
  }
};
