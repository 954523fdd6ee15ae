import { faulty, type ProblemError, shown } from '../../../common/api/problem.js';
import { readText } from '../../../common/files/csv.js';
import { readCsv, readDelimiter } from '../../../common/files/csv-table.js';
import {
  cellPlace,
  readXlsx,
  type Sheet,
  type SheetRow,
  type SheetValue,
} from '../../../common/files/xlsx-read.js';
import { job } from '../../../common/work/job.js';
import type { Workers } from '../../../common/work/workers.js';
import { type Packed, packed, unpacked } from '../../../common/work/packed.js';
import { MOST_ITEMS } from './bill-limits.js';
import { type BillColumn, columnOf, type PlacedColumns, placeColumns } from './bill-columns.js';

/** What stands in a cell: text of a CSV may be a number, that of a workbook is text. */
export type BillCell = SheetValue | { kind: 'plain'; text: string } | { kind: 'merged'; text: string };

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
}

/** Rows of a table: its items, and what stands between and below them. */
const MOST_ROWS = MOST_ITEMS + 500;
/** Rows above the headings of a sheet. */
const MOST_ABOVE = 50;

const WORKBOOK = Buffer.from('PK');
/** Of an old .xls, and of a workbook with a password. */
const COMPOUND = Buffer.from([0xd0, 0xcf, 0x11, 0xe0]);

const refused = (detail: string, value?: unknown): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer: '/file', value: shown(value), detail }]);

const ofCsv = (file: Buffer, delimiter?: string): BillTable => {
  const { headings, rows } = readCsv(file, readDelimiter(delimiter), { mostRows: MOST_ROWS, rows: 'items' });
  const places = placeColumns(headings.entries());
  return {
    columns: new Set(places.keys()),
    rows: rows.map(({ line, cells }) => ({
      line,
      cells: new Map(
        [...places].flatMap(([field, place]) => {
          const text = readText((cells[place] ?? '').trim());
          return text === '' ? [] : [[field, { kind: 'plain' as const, text }] as const];
        }),
      ),
      ...(cells.length === headings.length
        ? {}
        : {
            broken: `line ${line} has ${cells.length} columns, but the heading row has ${headings.length}`,
          }),
    })),
  };
};

const headingsOf = ({ cells }: SheetRow): [place: number, heading: string][] =>
  [...cells].flatMap(([place, value]) => (value.kind === 'text' ? [[place, value.text.trim()]] : []));

/** The range of merged cells that a cell of a row lies in: only the first of a range keeps its value. */
const mergedIn = ({ merged }: Sheet): ((line: number) => (place: number) => string | undefined) => {
  const ranges = merged.flatMap((range) => {
    const [from, to] = range.split(':').map(cellPlace);
    return from && to ? [{ range, from, to }] : [];
  });
  return (line) => {
    const here = ranges.filter(({ from, to }) => line >= from.line && line <= to.line);
    return (place) => here.find(({ from, to }) => place >= from.column && place <= to.column)?.range;
  };
};

const ofXlsx = (file: Buffer, wanted?: string): BillTable => {
  let sheet: Sheet;
  let mergedOf: ReturnType<typeof mergedIn>;
  try {
    sheet = readXlsx(file, wanted);
    mergedOf = mergedIn(sheet);
  } catch (error) {
    if (error instanceof RangeError) throw refused(`the workbook cannot be read: ${error.message}`);
    throw error;
  }
  const index = sheet.rows.findIndex(
    (row) =>
      row.line <= MOST_ABOVE && headingsOf(row).some(([, text]) => columnOf(text)?.field === 'reference'),
  );
  const head = sheet.rows[index];
  if (!head)
    throw refused(
      `sheet "${sheet.name}" has no row of headings: none of its first ${MOST_ABOVE} rows has a cell "Reference"`,
    );
  const inHead = mergedOf(head.line);
  for (const [place, heading] of headingsOf(head)) {
    const range = inHead(place);
    if (range !== undefined)
      throw refused(`the heading "${heading}" lies in the merged cells ${range}: unmerge them`, heading);
  }
  const places: PlacedColumns = placeColumns(headingsOf(head));
  const rows = sheet.rows.slice(index + 1);
  if (rows.length > MOST_ROWS) throw refused(`the table has more than ${MOST_ROWS} rows: split it`);
  if (rows.length === 0) throw refused('the table has a heading row but no items');
  return {
    columns: new Set(places.keys()),
    rows: rows.map(({ line, cells }) => {
      const row = new Map<BillColumn['field'], BillCell>();
      const rangeOf = mergedOf(line);
      for (const [field, place] of places) {
        const value = cells.get(place);
        if (!value || (value.kind === 'text' && value.text.trim() === '')) continue;
        const range = rangeOf(place);
        row.set(field, range === undefined ? value : { kind: 'merged', text: range });
      }
      return { line, cells: row };
    }),
  };
};

/** A bill as it was sent. */
export interface BillFile {
  file: Uint8Array;
  delimiter?: string;
  /** name of the sheet of a workbook; the first one when absent */
  sheet?: string;
}

interface PackedTable {
  columns: BillColumn['field'][];
  rows: Packed<Omit<BillTableRow, 'cells'> & { cells: [BillColumn['field'], BillCell][] }>;
}

/** Reads a bill as a table, from CSV or from a workbook, whichever the file is. */
export const readBillFile = ({ file: bytes, delimiter, sheet }: BillFile): PackedTable => {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (file.subarray(0, 4).equals(COMPOUND))
    throw refused('the file is an old .xls, or a workbook with a password: save it as .xlsx without one');
  const { columns, rows } = file.subarray(0, 2).equals(WORKBOOK)
    ? ofXlsx(file, sheet)
    : ofCsv(file, delimiter);
  return { columns: [...columns], rows: packed(rows.map((row) => ({ ...row, cells: [...row.cells] }))) };
};

const READ = job(import.meta.url, readBillFile);

/** The same in another thread. @throws ProblemError when it cannot be read as a table of items */
export const readBillTable = async (workers: Workers, file: BillFile): Promise<BillTable> => {
  const { columns, rows } = await workers.run(READ, file);
  const read = await unpacked(rows);
  return {
    columns: new Set(columns),
    rows: read.map((row) => ({ ...row, cells: new Map(row.cells) })),
  };
};
