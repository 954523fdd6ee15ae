import { type Cell, isEmpty, textOf } from '../../../common/files/table/cell.js';
import { canonicalRows, type DeclaredForms } from '../../../common/files/table/canonical.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { readTable, type TableFile } from '../../../common/files/table/read-table.js';
import { job } from '../../../common/work/job.js';
import type { Workers } from '../../../common/work/workers.js';
import { type Packed, packed, unpacked } from '../../../common/work/packed.js';
import { MOST_ITEMS } from './bill-limits.js';
import { type BillColumn, COLUMNS, columnOf, placeColumns } from './bill-columns.js';

export type BillCell = Cell;

export interface BillTableRow {
  /** line of the file or number of the row in the sheet, 1 for the first */
  line: number;
  cells: Map<BillColumn['field'], BillCell>;
  /** why it cannot be read at all */
  broken?: string;
}

export interface BillTable {
  columns: ReadonlySet<BillColumn['field']>;
  rows: BillTableRow[];
  forms: TableForms;
}

/** Rows of a table: its items, and what stands between and below them. */
const MOST_ROWS = MOST_ITEMS + 500;

const BILL = {
  mostRows: MOST_ROWS,
  rows: 'items',
  isHead: (headings: string[]): boolean => headings.some((text) => columnOf(text)?.field === 'reference'),
};
const NUMBERS = new Set(COLUMNS.filter(({ isNumber }) => isNumber).map(({ field }) => field));

/** A bill as it was sent. */
export type BillFile = TableFile & DeclaredForms;

interface PackedTable {
  columns: BillColumn['field'][];
  rows: Packed<Omit<BillTableRow, 'cells'> & { cells: [BillColumn['field'], BillCell][] }>;
  forms: TableForms;
}

/** Reads a bill as a table, from CSV or from a workbook, whichever the file is. */
export const readBillFile = (sent: BillFile): PackedTable => {
  const isWorkbook = Buffer.from(sent.file.subarray(0, 2)).toString('latin1') === 'PK';
  const {
    headings,
    rows,
    forms: found,
  } = readTable(sent, {
    ...BILL,
    ...(isWorkbook && { headHas: 'a cell "Reference"' }),
  });
  const places = [...placeColumns(headings.entries())];
  const numbers = places
    .filter(([field]) => NUMBERS.has(field))
    .map(([field, place]) => ({ name: field, type: 'number' as const, place }));
  const { rows: read, forms } = canonicalRows(rows, numbers, sent, found);
  return {
    columns: places.map(([field]) => field),
    rows: packed(
      rows.map(({ line, width, cells }, index) => ({
        line,
        cells: places.flatMap(([field, place]): [BillColumn['field'], BillCell][] => {
          const cell = cells[place];
          if (!cell || isEmpty(cell)) return [];
          if (cell.kind !== 'plain') return [[field, cell]];
          const at = numbers.findIndex(({ name }) => name === field);
          const text = (at < 0 ? undefined : read[index]?.cells[at]?.text) ?? textOf(cell);
          return [[field, { kind: 'plain', text }]];
        }),
        ...(isWorkbook || width === headings.length
          ? {}
          : { broken: `line ${line} has ${width} columns, but the heading row has ${headings.length}` }),
      })),
    ),
    forms,
  };
};

const READ = job(import.meta.url, readBillFile);

/** The same in another thread. @throws ProblemError when it cannot be read as a table of items */
export const readBillTable = async (workers: Workers, file: BillFile): Promise<BillTable> => {
  const { columns, rows, forms } = await workers.run(READ, file);
  const read = await unpacked(rows);
  return {
    columns: new Set(columns),
    rows: read.map((row) => ({ ...row, cells: new Map(row.cells) })),
    forms,
  };
};
