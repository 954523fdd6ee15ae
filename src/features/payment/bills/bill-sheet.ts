import { columnName } from '../../../common/files/xlsx-read.js';
import type { PrintSheet, XlsxCell } from '../../../common/files/xlsx.js';
import { numberFormat } from '../../../common/files/xlsx-styles.js';
import type { Bill, BillGroup, PayItem } from './bill.models.js';
import { type BillColumn, COLUMNS } from './bill-columns.js';

/** Title, project and drive, remark; followed by the headings. */
const ROWS_ABOVE = 3;
const HEADING_ROW = ROWS_ABOVE + 1;
const FIRST_ITEM = HEADING_ROW + 1;

const letterOf = (field: BillColumn['field']): string =>
  columnName(COLUMNS.findIndex((column) => column.field === field));

const GROUP = letterOf('groupCode');
const QUANTITY = letterOf('quantity');
const RATE = letterOf('rate');
const AMOUNT = letterOf('amount');

const decimalsIn = (text: string): number => text.split('.')[1]?.length ?? 0;

const headingRow = (currency: string): XlsxCell[] =>
  COLUMNS.map(({ field, title, isNumber }) => ({
    text: field === 'amount' || field === 'rate' ? `${title} [${currency}]` : title,
    font: 'bold',
    shaded: true,
    line: 'below',
    wrap: true,
    align: isNumber ? 'right' : 'left',
  }));

const itemRow = (item: PayItem, line: number, minorUnits: number): (XlsxCell | null)[] =>
  COLUMNS.map(({ field, isNumber }): XlsxCell | null => {
    const value = item[field];
    if (value == null) return null;
    const text = String(value);
    if (field === 'amount')
      return {
        formula: `ROUND(${QUANTITY}${line}*${RATE}${line},${minorUnits})`,
        value: text,
        format: numberFormat(minorUnits),
      };
    return isNumber ? { number: text, format: numberFormat(decimalsIn(text)) } : { text, wrap: true };
  });

/** A row with cells in some columns, and empty cells of the given style in the others. */
const sparse = (
  cells: Partial<Record<BillColumn['field'], XlsxCell>>,
  elsewhere: XlsxCell | null,
): (XlsxCell | null)[] => COLUMNS.map(({ field }) => cells[field] ?? elsewhere);

/** EXACT instead of SUMIF, which takes the groups 5 and 5.0 as equal. */
const groupRow = (
  { groupCode, groupTitle, amount }: BillGroup,
  line: number,
  last: number,
  minorUnits: number,
): (XlsxCell | null)[] =>
  sparse(
    {
      ...(groupCode == null ? {} : { groupCode: { text: groupCode } }),
      groupTitle: { text: groupTitle ?? (groupCode == null ? 'Without group' : ''), wrap: true },
      description: { text: 'Total of the group' },
      amount: {
        formula: `SUMPRODUCT(EXACT($${GROUP}$${FIRST_ITEM}:$${GROUP}$${last},${GROUP}${line})*$${AMOUNT}$${FIRST_ITEM}:$${AMOUNT}$${last})`,
        value: amount,
        format: numberFormat(minorUnits),
      },
    },
    null,
  );

/** A bill as a sheet: its items, followed by totals by group and overall. It has the headings that an import reads. */
export const billSheet = (bill: Bill, { project, drive }: { project: string; drive: string }): PrintSheet => {
  const { version, validFrom, validUntil, currency, minorUnits, items, groups, remark } = bill;
  const last = FIRST_ITEM + items.length - 1;
  const firstGroup = last + 3;
  const until = validUntil == null ? '' : ` until ${validUntil}`;
  return {
    name: `Bill ${version}`,
    widths: COLUMNS.map(({ width }) => width),
    headingRow: HEADING_ROW,
    footer: `Bill ${version}, drive ${drive}, project ${project}`,
    rows: [
      [{ text: `Bill ${version}, drive ${drive}, project ${project}`, font: 'title' }],
      [{ text: `Counts from ${validFrom}${until}; rates and amounts in ${currency}` }],
      [remark == null ? null : { text: remark }],
      headingRow(currency),
      ...items.map((item, index) => itemRow(item, FIRST_ITEM + index, minorUnits)),
      [],
      sparse({ groupTitle: { text: 'Totals', font: 'bold', line: 'below' } }, { empty: true, line: 'below' }),
      ...groups.map((group, index) => groupRow(group, firstGroup + index, last, minorUnits)),
      sparse(
        {
          description: { text: 'Total of the bill', font: 'bold', line: 'above' },
          amount: {
            formula: `SUM(${AMOUNT}${FIRST_ITEM}:${AMOUNT}${last})`,
            value: bill.amount,
            format: numberFormat(minorUnits),
            font: 'bold',
            line: 'above',
          },
        },
        { empty: true, line: 'above' },
      ),
    ],
  };
};
