import { assertGivenBack, type GivenBack, takeGivenBack } from '../../../common/api/given-back.js';
import { type Fault, ProblemError } from '../../../common/api/problem.js';
import { isSame, setAt, valueAt, withoutEmpty } from './cell-values.js';
import { keyedMembers, refuseTwice, shownFaults } from './keyed-members.js';
import { jsonOf } from './kind-columns.js';
import type { Kind, KindPut } from './kinds.service.js';
import { isSameMember, memberOf, memberRow, membersOfRows, rowsOfMembers } from './members.js';
import {
  columnsOfPart,
  identityOf,
  type ImportRow,
  type Members,
  revisionOf,
  type RowChange,
  type TableRecord,
  textIn,
} from './table-rows.js';

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
      const known = answers.map((answer) => valueAt(answer, column.path) ?? null);
      if (text === '' || known.length === 0) continue;
      const value = jsonOf(text, column);
      if (known.some((each) => isSame(column, each, value))) continue;
      const last = known.at(-1);
      row.faults.push({
        field: column.field,
        value: text,
        detail:
          record.outcome === 'created' && last === null
            ? `${column.field} is ${text}; the new record has none: leave the column out`
            : `${column.field} cannot be changed (current value ${JSON.stringify(last)}): omit it or send it unchanged`,
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
        value: textIn(first, 'etag'),
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
