import { plainToInstance } from 'class-transformer';
import { validateSync } from 'class-validator';
import { faultsOf, shown } from '../../../common/api/problem.js';
import { amountOf, decimalsOf, plainDecimal } from '../../../engineering/amount.js';
import { PayItemInput } from './bill.models.js';
import type { BillColumn } from './bill-columns.js';
import { faultsOfItem, type ItemField, type ItemRow, itemRow, tidy } from './bill-rows.js';
import type { BillCell, BillTable, BillTableRow } from './bill-table.js';

type Field = BillColumn['field'];

export interface RowFault {
  /** '' for the row as a whole */
  field: Field | '';
  value: unknown;
  detail: string;
}

/** A row of the table on its way: as read, with what was found against it. */
export interface ImportRow {
  line: number;
  /** null when it cannot be read */
  reference: string | null;
  /** null when any cell cannot be read */
  item: ItemRow | null;
  faults: RowFault[];
}

const DECIMAL = /^-?\d{1,30}(\.\d+)?$/;

/**
 * The number of a workbook's cell. Spreadsheets compute with 15 digits and write 12.3 as 12.300000000000001: what has more
 * than the six decimals of a rate is read to those 15.
 */
const sheetNumber = (text: string): string => {
  if (DECIMAL.test(text) && decimalsOf(text) <= 6) return plainDecimal(text);
  const rounded = Number(text).toPrecision(15);
  return DECIMAL.test(rounded) ? plainDecimal(rounded) : text;
};

/** Reads one cell. @throws RangeError that says in words what it must be */
const readCell = (field: Field, cell: BillCell, isNumber: boolean): string => {
  const quoted = `"${String(shown(cell.text))}"`;
  if (cell.kind === 'merged')
    throw new RangeError(`${field} lies in the merged cells ${cell.text}: unmerge them`);
  if (cell.kind === 'uncomputed')
    throw new RangeError(
      `${field} is a formula without a stored value: let the spreadsheet compute and save it`,
    );
  if (cell.kind === 'other')
    throw new RangeError(`${field} is ${cell.text}; it must be ${isNumber ? 'a number' : 'text'}`);
  if (!isNumber) {
    if (cell.kind !== 'number') return tidy(cell.text);
    throw new RangeError(
      `${field} is the number ${cell.text}; it must be text, as 1.10 and 1.1 are one number: format the cell as text and enter it again`,
    );
  }
  if (cell.kind === 'number') return sheetNumber(cell.text);
  if (cell.kind === 'text') throw new RangeError(`${field} is the text ${quoted}; it must be a number`);
  if (DECIMAL.test(cell.text)) return plainDecimal(cell.text);
  const comma = cell.text.includes(',') ? ', no decimal comma and no thousands separator' : '';
  throw new RangeError(`${field} is ${quoted}; it must be a number with a decimal point${comma}`);
};

/** What makes a row an item; without any of it, it is a title or a total. */
const MAKING: Field[] = ['reference', 'kind', 'unit', 'decimals', 'quantity', 'rate'];

export const isItem = ({ cells, broken }: BillTableRow): boolean =>
  broken !== undefined || MAKING.some((field) => cells.has(field));

const NUMBERS = new Set<Field>(['decimals', 'quantity', 'rate', 'amount']);

/** What the row's fields say, each that can be read. */
const textsOf = ({ cells }: BillTableRow, faults: RowFault[]): Map<Field, string> => {
  const texts = new Map<Field, string>();
  for (const [field, cell] of cells) {
    if (field === 'amount' && cell.kind === 'uncomputed') continue; // there is nothing to compare
    try {
      texts.set(field, readCell(field, cell, NUMBERS.has(field)));
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      faults.push({ field, value: shown(cell.text), detail: error.message });
    }
  }
  return texts;
};

/** What an item has where the table has no column for it: as it stands, else as a new item does. */
const otherwise = (standing?: ItemRow): Partial<PayItemInput> => ({
  ...(standing?.groupCode == null ? {} : { groupCode: standing.groupCode }),
  ...(standing?.groupTitle == null ? {} : { groupTitle: standing.groupTitle }),
  kind: standing?.kind,
  decimals: standing?.decimals ?? 3,
  quantity: standing?.quantity ?? '0',
});

/** Fields that a table may leave out; a group's code and title go together. */
const OPTIONAL = [['groupCode', 'groupTitle'], ['kind'], ['decimals'], ['quantity']] as const;

/** An item by the rules of a document. */
const judged = (
  texts: Map<Field, string>,
  kept: Partial<PayItemInput>,
  faults: RowFault[],
): ItemRow | null => {
  const { decimals } = Object.fromEntries(texts);
  const said = Object.fromEntries([...texts].filter(([field]) => field !== 'amount'));
  const sent = { ...kept, ...said, ...(decimals === undefined ? {} : { decimals: Number(decimals) }) };
  const input = plainToInstance(PayItemInput, sent);
  const at = new Set(faults.map(({ field }) => field)); // what cannot be read is reported once
  for (const { pointer, value, detail } of faultsOf(
    validateSync(input, { stopAtFirstError: true }),
    'body',
    sent,
  )) {
    const field = pointer.slice(1) as ItemField;
    const missing = value === undefined || value === null;
    if (!at.has(field)) faults.push({ field, value, detail: missing ? `${field} is missing` : detail });
  }
  if (faults.length > 0) return null;
  const row = itemRow(input);
  faults.push(...faultsOfItem(row));
  return row;
};

/**
 * Reads a row of the table, judged by itself.
 * @param standingOf  the item that stands under a reference
 */
export const readRow = (
  row: BillTableRow,
  columns: BillTable['columns'],
  minorUnits: number,
  standingOf: (reference: string) => ItemRow | undefined,
): ImportRow => {
  const faults: RowFault[] = [];
  if (row.broken !== undefined) {
    faults.push({ field: '', value: undefined, detail: row.broken });
    return { line: row.line, reference: null, item: null, faults };
  }
  const texts = textsOf(row, faults);
  const reference = texts.get('reference') ?? null;
  const kept = otherwise(reference === null ? undefined : standingOf(reference));
  const unsaid = otherwise();
  for (const together of OPTIONAL)
    if (together.some((field) => columns.has(field)))
      for (const field of together) Object.assign(kept, { [field]: unsaid[field] });
  const item = judged(texts, kept, faults);
  const amount = texts.get('amount');
  if (item && faults.length === 0 && amount !== undefined) {
    const due = amountOf(item.quantity, item.rate, minorUnits);
    if (amountOf(amount, '1', minorUnits) !== due)
      faults.push({
        field: 'amount',
        value: amount,
        detail: `amount is ${amount}; quantity × rate is ${due}`,
      });
  }
  return { line: row.line, reference, item: faults.length === 0 ? item : null, faults };
};
