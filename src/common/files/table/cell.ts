import { shown } from '../../api/problem.js';
import type { SheetValue } from '../xlsx-read.js';

/** The value of a cell: text of a CSV may be a number; in a workbook it is text. */
export type Cell =
  | SheetValue
  /** of a CSV */
  | { kind: 'plain'; text: string }
  /** within this range of merged cells */
  | { kind: 'merged'; text: string; holds: string };

export interface TableRow {
  /** line of the file on which the row begins, or number of the row in the sheet; from 1 */
  line: number;
  /** its number of cells; for a workbook, at least the number of headings */
  width: number;
  cells: (Cell | undefined)[];
}

/** A heading for comparison: without surrounding blanks, and with uniform line ends. */
export const heading = (text: string): string => text.replaceAll(/\r\n?/g, '\n').trim();

export const textOf = (cell: Cell | undefined): string => cell?.text.trim() ?? '';

/** A formula without a value is not empty: it would be lost silently. */
export const isEmpty = (cell: Cell | undefined): boolean =>
  !cell || (cell.kind !== 'uncomputed' && cell.text.trim() === '');

const DECIMAL = /^-?\d{1,30}(\.\d+)?$/;

/** A decimal without superfluous leading or trailing zeros, and without −0. */
const plain = (text: string): string => {
  const [, sign = '', whole = '', part = ''] = /^(-?)0*(\d+?)(?:\.(\d*?)0*)?$/.exec(text) ?? [];
  if (whole === '') return text;
  const digits = part === '' ? whole : `${whole}.${part}`;
  return /[1-9]/.test(digits) ? sign + digits : digits;
};

/**
 * The number in a workbook's cell. Spreadsheets calculate with 15 digits and may store 12.3 as 12.300000000000001, so a number with
 * more than six decimals is read to 15 digits.
 */
export const sheetNumber = (text: string): string => {
  const decimals = text.split('.')[1]?.length ?? 0;
  if (DECIMAL.test(text) && decimals <= 6) return plain(text);
  const value = Number(text);
  if (text === '' || !Number.isFinite(value)) return text;
  const rounded = value.toPrecision(15);
  if (DECIMAL.test(rounded)) return plain(rounded);
  const fixed = Math.abs(value) < 1e15 ? value.toFixed(12) : text;
  return DECIMAL.test(fixed) ? plain(fixed) : text;
};

/** The text of a cell in the one format that the service reads: a decimal point, ISO 8601, metres or kilometres and metres. */
export interface CanonicalCell {
  text: string;
  /** why it cannot be read */
  fault?: string;
  /** that it was read differently from how it was written */
  note?: string;
}

export const quoted = (text: string): string => `"${String(shown(text))}"`;
