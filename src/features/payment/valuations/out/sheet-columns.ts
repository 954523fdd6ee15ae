import { grouped } from '../../../../common/files/grouped.js';
import { columnName } from '../../../../common/files/xlsx-read.js';
import type { XlsxCell } from '../../../../common/files/xlsx.js';
import type { Account, Sums } from './account.js';
import { sumsOf } from './account-words.js';

export type Row = (XlsxCell | null)[];

export const COLUMNS = [
  'reference',
  'description',
  'unit',
  'rate',
  'billQuantity',
  'previousQuantity',
  'quantity',
  'toDateQuantity',
  'percentOfBill',
  'previousAmount',
  'amount',
  'toDateAmount',
  'heldQuantity',
  'roundedWith',
  'deemedShifts',
] as const;
export type Column = (typeof COLUMNS)[number];

const TITLES: Record<Column, string> = {
  reference: 'Reference',
  description: 'Description',
  unit: 'Unit',
  rate: 'Rate',
  billQuantity: 'Quantity of the bill',
  previousQuantity: 'Quantity previous',
  quantity: 'Quantity this period',
  toDateQuantity: 'Quantity to date',
  percentOfBill: '% of the bill',
  previousAmount: 'Amount previous',
  amount: 'Amount this period',
  toDateAmount: 'Amount to date',
  heldQuantity: 'Quantity held apart',
  roundedWith: 'Rounded together',
  deemedShifts: 'Deemed accepted, not signed',
};

export const TEXTS: readonly Column[] = ['reference', 'description', 'unit', 'roundedWith', 'deemedShifts'];
export const AMOUNTS: [Column, keyof Sums][] = [
  ['previousAmount', 'previous'],
  ['amount', 'period'],
  ['toDateAmount', 'toDate'],
];

export const letterOf = (column: Column): string => columnName(COLUMNS.indexOf(column));
export const at = (column: Column, line: number): string => `${letterOf(column)}${line}`;

export const sparse = (cells: Partial<Record<Column, XlsxCell>>, elsewhere: XlsxCell | null = null): Row =>
  COLUMNS.map((column) => cells[column] ?? elsewhere);

export const headingRow = (currency: string | undefined): Row =>
  COLUMNS.map((column) => ({
    text: TITLES[column] + (/rate|amount/i.test(column) && currency ? ` [${currency}]` : ''),
    font: 'bold',
    shaded: true,
    line: 'below',
    wrap: true,
    align: TEXTS.includes(column) ? 'left' : 'right',
  }));

/** Text of this length is no wider than all columns together, and is not truncated in print. [characters] */
const LINE_LENGTH = 130;

/** Text across the sheet, in as many rows as it needs. */
export const reported = (text: string, font?: 'bold'): Row[] => {
  const lines = [''];
  for (const word of text.split(/\s+/)) {
    const line = lines.at(-1) ?? '';
    if (line !== '' && line.length + word.length >= LINE_LENGTH) lines.push(word);
    else lines[lines.length - 1] = line === '' ? word : `${line} ${word}`;
  }
  return lines.map((line): Row => [{ text: line, ...(font === undefined ? {} : { font }) }]);
};

const LEAST_WIDTHS: Partial<Record<Column, number>> = { unit: 6, percentOfBill: 9 };

/** Column widths by content; totals are bold. [characters] */
export const widths = (account: Account): number[] =>
  COLUMNS.map((column) => {
    if (column === 'description') return 46;
    if (column === 'roundedWith' || column === 'deemedShifts') return 20; // lists, which wrap
    const sum = AMOUNTS.find(([amount]) => amount === column)?.[1];
    const texts = account.lines.map((line) => grouped(String(line[column] ?? '')));
    if (sum) texts.push(`${grouped(sumsOf(account)[sum])}  `);
    return Math.max(LEAST_WIDTHS[column] ?? 13, ...texts.map(({ length }) => length + 2));
  });
