import { numberFormat } from '../../../../common/files/xlsx-styles.js';

/** A figure of a sheet: its cell, and the decimal number in it. */
type Operand = [cell: string, value: string];

/** A formula with its value; no formula where a spreadsheet, limited to fifteen digits, cannot reproduce the figure. */
export interface SheetFigure {
  formula?: string;
  value: string;
}

/** Number of decimals as written, including trailing zeros. */
export const decimalsIn = (number: string): number => number.split('.')[1]?.length ?? 0;

/** Rounds as spreadsheets do: to fifteen digits first, half away from zero. */
const rounded = (number: number, decimals: number): number => {
  const digits = Number(number.toPrecision(15));
  const [mantissa, exponent = '0'] = Math.abs(digits).toString().split('e');
  const whole = Math.round(Number(`${mantissa}e${Number(exponent) + decimals}`));
  return Math.sign(digits) * Number(`${whole}e${-decimals}`);
};

const figure = (formula: string, gives: number, value: string): SheetFigure => {
  const decimals = decimalsIn(value);
  const same =
    rounded(gives, decimals) === Number(value) && value.replace(/[-.]/g, '').replace(/^0+/, '').length <= 15;
  return same ? { formula: `ROUND(${formula},${decimals})`, value } : { value };
};

export const product = ([a, x]: Operand, [b, y]: Operand, value: string): SheetFigure =>
  figure(`${a}*${b}`, Number(x) * Number(y), value);

export const difference = ([a, x]: Operand, [b, y]: Operand, value: string): SheetFigure =>
  figure(`${a}-${b}`, Number(x) - Number(y), value);

export const percentage = ([a, x]: Operand, [b, y]: Operand, value: string): SheetFigure =>
  figure(`100*${a}/${b}`, (100 * Number(x)) / Number(y), value);

/** The number format that aligns a number at the decimal point with others of its column that have more decimals. */
export const alignedFormat = (decimals: number, most: number): string =>
  numberFormat(decimals) +
  (decimals === 0 && most > 0 ? '_.' : '') +
  '_0'.repeat(Math.max(0, most - decimals));
