import { type XlsxCell, xlsxOf } from '../../files/xlsx.js';

/** The value of a cell: text, a number, or the digits of a decimal. */
export type Cell = string | number | { number: string } | null;

/** A list as a sheet. */
export interface Sheet {
  name: string;
  headings: string[];
  rows: Cell[][];
}

const xlsxCell = (cell: Cell): XlsxCell | null => {
  if (typeof cell === 'string') return { text: cell };
  return typeof cell === 'number' ? { number: String(cell) } : cell;
};

/** Width of a column that fits its heading, and no more than a remark needs. [characters] */
const widthOf = (heading: string): number => Math.min(40, Math.max(12, heading.length + 2));

export const drawWorkbook = ({ name, headings, rows }: Sheet): Promise<Uint8Array> =>
  xlsxOf({
    name,
    widths: headings.map(widthOf),
    rows: [
      headings.map((text) => ({ text, font: 'bold', shaded: true, line: 'below' })),
      ...rows.map((cells) => cells.map(xlsxCell)),
    ],
    headingRow: 1,
    footer: name,
  });
