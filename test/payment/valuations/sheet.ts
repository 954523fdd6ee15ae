import { ZipFile } from '../../../src/common/files/zip.js';

/** The content of a cell in an exported workbook. */
export interface Cell {
  text?: string;
  formula?: string;
  /** a number, or the stored result of the formula */
  value?: string;
}

export type Cells = Record<string, Cell>;

const plain = (xml: string): string =>
  xml.replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&quot;', '"').replaceAll('&amp;', '&');

/** The cells of a sheet by reference, read from its XML. */
export const cellsOf = (workbook: Buffer, sheet: number): { xml: string; cells: Cells } => {
  const xml = new ZipFile(workbook, 80_000_000).read(`xl/worksheets/sheet${sheet}.xml`).toString();
  const cells: Cells = {};
  for (const [, place = '', body = ''] of xml.matchAll(/<c r="([A-Z]+\d+)"[^>]*?(?:\/>|>(.*?)<\/c>)/gs)) {
    const inner = (tag: string): string | undefined =>
      new RegExp(`<${tag}(?: [^>]*)?>(.*?)</${tag}>`, 's').exec(body)?.[1];
    const [text, formula, value] = [inner('t'), inner('f'), inner('v')];
    cells[place] = {
      ...(text === undefined ? {} : { text: plain(text) }),
      ...(formula === undefined ? {} : { formula: plain(formula) }),
      ...(value === undefined ? {} : { value }),
    };
  }
  return { xml, cells };
};

/** An exact fraction. */
interface Exact {
  over: bigint;
  under: bigint;
}

const exact = (decimal: string): Exact => {
  const [whole = '', fraction = ''] = decimal.split('.');
  return { over: BigInt(whole + fraction), under: 10n ** BigInt(fraction.length) };
};

const plus = (a: Exact, b: Exact, sign = 1n): Exact => ({
  over: a.over * b.under + sign * b.over * a.under,
  under: a.under * b.under,
});

/** Half away from zero, like ROUND in spreadsheets. */
const round = ({ over, under }: Exact, decimals: number): string => {
  const scaled = over * 10n ** BigInt(decimals);
  const half = (under * (scaled < 0n ? -1n : 1n)) / 2n;
  const digits = (2n * scaled + 2n * half) / (2n * under);
  const text = String(digits < 0n ? -digits : digits).padStart(decimals + 1, '0');
  const sign = digits < 0n ? '-' : '';
  return decimals === 0 ? sign + text : `${sign}${text.slice(0, -decimals)}.${text.slice(-decimals)}`;
};

const columnAndLines = (range: string): [column: string, from: number, to: number] => {
  const [, column = '', from, to] = /^\$?([A-Z]+)\$?(\d+):\$?[A-Z]+\$?(\d+)$/.exec(range) ?? [];
  return [column, Number(from), Number(to)];
};

/**
 * A second implementation: the exact results of the formulas of a valuation, from the numbers beside them. Supports ROUND of a product, a
 * difference, a percentage, a SUM, and a SUMIF of non-empty cells. @throws Error for any other formula
 */
export const recomputed = (cells: Cells, place: string): string => {
  const { formula, value = '0' } = cells[place] ?? {};
  if (formula === undefined) return value;
  const [, inner = '', decimals] = /^ROUND\((.*),(\d+)\)$/.exec(formula) ?? [];
  const at = (reference: string): Exact => exact(recomputed(cells, reference));
  const simple = /^(100\*)?([A-Z]+\d+)([-*/])([A-Z]+\d+)$/.exec(inner);
  if (simple) {
    const [, hundred, a = '', operator, b = ''] = simple;
    const [x, y] = [at(a), at(b)];
    if (operator === '-') return round(plus(x, y, -1n), Number(decimals));
    const [times, by] = operator === '*' ? [y.over, y.under] : [y.under, y.over];
    const over = x.over * times * (hundred ? 100n : 1n);
    return round({ over, under: x.under * by }, Number(decimals));
  }
  const [, conditions, summed = ''] = /^SUM(?:IF\(([^,]+),"<>",|\()([^()]+)\)$/.exec(inner) ?? [];
  if (summed === '') throw new Error(`${place}: what is ${formula}?`);
  const [column, from, to] = columnAndLines(summed);
  let sum = exact('0');
  for (let line = from; line <= to; line += 1) {
    const counts = conditions === undefined || cells[`${columnAndLines(conditions)[0]}${line}`]?.text;
    if (counts && cells[`${column}${line}`]?.value !== undefined) sum = plus(sum, at(`${column}${line}`));
  }
  return round(sum, Number(decimals));
};
