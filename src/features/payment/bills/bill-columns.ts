import type { ItemField } from './bill-rows.js';

/** A column of a bill as a table. */
export interface BillColumn {
  field: ItemField | 'amount';
  /** heading in CSV */
  name: string;
  /** heading in a workbook, where that of the amount includes the currency */
  title: string;
  /** in characters */
  width: number;
  isNumber: boolean;
}

const column = (
  field: BillColumn['field'],
  name: string,
  title: string,
  width: number,
  isNumber = false,
): BillColumn => ({ field, name, title, width, isNumber });

/** The columns of a bill, in order. */
export const COLUMNS: readonly BillColumn[] = [
  column('reference', 'reference', 'Reference', 13),
  column('groupCode', 'group_code', 'Group code', 11),
  column('groupTitle', 'group_title', 'Group title', 24),
  column('description', 'description', 'Description', 50),
  column('kind', 'kind', 'Kind', 9),
  column('unit', 'unit', 'Unit', 7),
  column('decimals', 'decimals', 'Decimals', 9, true),
  column('quantity', 'quantity', 'Quantity', 14, true),
  column('rate', 'rate', 'Rate', 14, true),
  column('amount', 'amount', 'Amount', 17, true),
];
