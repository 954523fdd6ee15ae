import { numberFormat } from '../../../../common/files/xlsx-styles.js';

/** A figure of a sheet: where it stands, and the decimal number there. */
type Operand = [cell: string, value: string];

/** A formula with what it gives; without one where a spreadsheet, which has fifteen digits, cannot reproduce the figure. */
export interface SheetFigure {
  formula?: string;
  value: string;
}

/** Decimals as they are written, zeros at the end too. */
export const decimalsIn = (number: string): number => number.split('.')[1]?.length ?? 0;

/** Rounds as spreadsheets do: the first fifteen digits, half away from zero. */
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

/** The format of a number that leaves room for the decimals that others of its column have: their points stand below each other. */
export const alignedFormat = (decimals: number, most: number): string =>
  numberFormat(decimals) +
  (decimals === 0 && most > 0 ? '_.' : '') +
  '_0'.repeat(Math.max(0, most - decimals));
