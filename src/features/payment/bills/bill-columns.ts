import { type Fault, faulty, shown } from '../../../common/api/problem.js';
import type { ItemField } from './bill-rows.js';

/** A column of a bill as a table. */
export interface BillColumn {
  field: ItemField | 'amount';
  /** heading in CSV */
  name: string;
  /** heading in a workbook, where the amount's has its currency beside it */
  title: string;
  /** in characters */
  width: number;
  /** whether a table must have it */
  needed: boolean;
  isNumber: boolean;
}

const column = (
  field: BillColumn['field'],
  name: string,
  title: string,
  width: number,
  kind: 'needed' | 'optional',
  isNumber = false,
): BillColumn => ({ field, name, title, width, needed: kind === 'needed', isNumber });

/** The columns of a bill, in the order in which they are written. */
export const COLUMNS: readonly BillColumn[] = [
  column('reference', 'reference', 'Reference', 13, 'needed'),
  column('groupCode', 'group_code', 'Group code', 11, 'optional'),
  column('groupTitle', 'group_title', 'Group title', 24, 'optional'),
  column('description', 'description', 'Description', 50, 'needed'),
  column('kind', 'kind', 'Kind', 9, 'optional'),
  column('unit', 'unit', 'Unit', 7, 'needed'),
  column('decimals', 'decimals', 'Decimals', 9, 'optional', true),
  column('quantity', 'quantity', 'Quantity', 14, 'optional', true),
  column('rate', 'rate', 'Rate', 14, 'needed', true),
  column('amount', 'amount', 'Amount', 17, 'optional', true),
];

/** Places of the columns in a table. */
export type PlacedColumns = Map<BillColumn['field'], number>;

/** Headings are one however they are spaced and whatever stands in brackets behind: "Group code", "group_code", "Rate [EUR]". */
const compared = (heading: string): string =>
  heading
    .replace(/[[(].*$/s, '')
    .trim()
    .toLowerCase()
    .replace(/[\s_-]+/g, '_');

export const columnOf = (heading: string): BillColumn | undefined =>
  COLUMNS.find(({ name }) => name === compared(heading));

const atFile = (value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer: '/file',
  value: shown(value),
  detail,
});

/**
 * Finds the columns among the headings of a table; those of other names are passed over.
 * @throws ProblemError invalid for a heading that appears twice, or a column that is missing
 */
export const placeColumns = (headings: Iterable<[place: number, heading: string]>): PlacedColumns => {
  const places: PlacedColumns = new Map();
  const faults: Fault[] = [];
  for (const [place, heading] of headings) {
    const column = columnOf(heading);
    if (!column) continue;
    if (places.has(column.field)) faults.push(atFile(heading, `the heading "${column.name}" appears twice`));
    else places.set(column.field, place);
  }
  for (const { field, name, needed } of COLUMNS)
    if (needed && !places.has(field)) faults.push(atFile(name, `the table has no column "${name}"`));
  if (faults.length > 0) throw faulty('invalid', faults);
  return places;
};
