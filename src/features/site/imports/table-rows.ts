import type { Kind, KindColumn } from './kinds.service.js';
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
  /** distinguishes it from others of its key; undefined: the table has no such column */
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
  const notes: string[] = [];
  const filled = fields.map((field, place) => {
    const cell = cells[place] ?? EMPTY;
    if (broken === undefined && cell.fault !== undefined)
      faults.push({ field, value: cell.text, detail: cell.fault });
    if (cell.note !== undefined) notes.push(cell.note);
    return cell;
  });
  if (broken !== undefined) faults.push({ field: '', detail: broken });
  return { line, fields, cells: filled, faults, notes };
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

export const revisionOf = ({ revision }: Kind, row: ImportRow): string | undefined =>
  revision !== undefined && row.fields.includes(revision) ? textIn(row, revision) : undefined;

/** What distinguishes the record of a row from others: the parts of its key, and its revision. */
export const identityOf = (kind: Kind, row: ImportRow): string[] => {
  const revision = revisionOf(kind, row);
  return [
    ...kind.keys.map(({ heading }) => textIn(row, heading)),
    ...(revision === undefined ? [] : [revision]),
  ];
};

/** The kind of a row: it may differ from its table's where two kinds have one list. */
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

/** Whether a row is not a member of a record: a title or a total, in a table made for printing. */
export const isPassedOver = ({ members }: Kind, row: ImportRow): boolean =>
  members?.making !== undefined &&
  row.faults.every(({ field }) => field !== '') &&
  members.making.every((field) => textIn(row, field) === '');
