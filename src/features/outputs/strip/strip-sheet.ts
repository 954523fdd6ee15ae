import { type CsvCell, csvOf } from '../../../common/files/csv.js';
import { type PrintSheet, type XlsxCell, xlsxOf } from '../../../common/files/xlsx.js';
import { rowsOf, type StripInput } from './strip-data.js';
import { type StripTable, tableOf, tablesOf } from './tables.js';

const EXACT = /^-?\d+(\.\d+)?$/;

const cellOf = (text: string, isNumber: boolean): XlsxCell | null => {
  if (text === '') return null;
  return isNumber && EXACT.test(text) ? { number: text } : { text, wrap: true };
};

const sheetOf = ({ head, from, to }: StripInput, table: StripTable): PrintSheet => {
  const { name, source, columns, rows, total } = table;
  const of = (row: string[]): (XlsxCell | null)[] =>
    columns.map(({ kind }, index) => cellOf(row[index] ?? '', kind === 'number'));
  return {
    name,
    widths: columns.map(({ width }) => Math.max(6, Math.round(width * 1.3))),
    rows: [
      [{ text: name, font: 'title' }],
      [
        {
          text: `Project ${head.project}, drive ${head.drive}, ${from} to ${to}; ${source}; as of ${head.asOf}`,
        },
      ],
      columns.map(({ title, kind }) => ({
        ...{ text: title, font: 'bold', shaded: true, line: 'below', wrap: true },
        align: kind === 'number' ? 'right' : 'left',
      })),
      ...rows.map(of),
      ...(total
        ? [of(total).map((cell) => cell && { ...cell, font: 'bold' as const, line: 'above' as const })]
        : []),
    ],
    headingRow: 3,
    footer: `As-built record of drive ${head.drive}, made ${head.made} by ${head.madeBy}`,
  };
};

/** A table of an interval as CSV, or its number of rows when there are more than were read. */
export const stripCsv = ({ table: key, texts }: StripInput & { table: string }): string | number => {
  const { columns, rows, count } = tableOf(rowsOf(texts), key);
  if (count > rows.length) return count;
  const cellOfCsv = (text: string, isNumber: boolean): CsvCell => {
    if (text === '') return null;
    return isNumber && EXACT.test(text) ? { number: text } : { text };
  };
  return csvOf(
    columns.map(({ title }) => title),
    rows.map((row) => columns.map(({ kind }, index) => cellOfCsv(row[index] ?? '', kind === 'number'))),
  );
};

/** The tables of an interval as a workbook, one sheet each. */
export const stripXlsx = (input: StripInput): Promise<Uint8Array> => {
  const [first, ...others] = tablesOf(rowsOf(input.texts)).map((table) => sheetOf(input, table));
  const empty: PrintSheet = {
    ...{ name: 'As-built record', widths: [80], headingRow: 1, footer: '' },
    rows: [[{ text: `Nothing is recorded from ${input.from} to ${input.to}.` }]],
  };
  return xlsxOf(first ?? empty, ...others);
};
