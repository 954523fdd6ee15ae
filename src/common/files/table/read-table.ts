import { ProblemError } from '../../api/problem.js';
import { cellPlace, readXlsx, type Sheet } from '../xlsx-read.js';
import { type Cell, heading, isEmpty, quoted, type TableRow, textOf } from './cell.js';
import { csvRows, refuseLongLines } from './csv-rows.js';
import { decode } from './decode.js';
import { findDelimiter } from './delimiter.js';
import { assertDelimiter, delimiterName, readDelimiter, refused, type TableForms } from './forms.js';

/** Largest file that is read, 20 MB. */
export const TABLE_LIMIT_BYTES = 20 * 1024 * 1024;

/** Most rows above the headings. */
export const MOST_ABOVE = 50;

const WORKBOOK = Buffer.from('PK');
/** First bytes of an old .xls, and of a workbook with a password. */
const COMPOUND = Buffer.from([0xd0, 0xcf, 0x11, 0xe0]);

/** A table as sent, with the formats declared for it. */
export interface TableFile {
  file: Uint8Array;
  encoding?: string;
  delimiter?: string;
  /** name of the sheet of a workbook; required when several are visible */
  sheet?: string;
}

/** Requirements on a table. */
export interface TableKind {
  /** most rows, including blank ones */
  mostRows: number;
  /** name of its rows, as in "a heading row and no strokes" */
  rows: string;
  /** whether a row is the heading row; by default, the first that is not blank */
  isHead?: (headings: string[]) => boolean;
  /** what the heading row must contain, for the error when none is found */
  headHas?: string;
}

export interface Table {
  headings: string[];
  rows: TableRow[];
  forms: TableForms;
}

export const isBlank = ({ cells }: TableRow): boolean => cells.every(isEmpty);

/** The range of merged cells in which a cell of a row lies: only the first cell of a range keeps its value. */
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

const sheetRows = (sheet: Sheet): TableRow[] => {
  const mergedOf = mergedIn(sheet);
  return sheet.rows.map(({ line, cells }) => {
    const rangeOf = mergedOf(line);
    const row: (Cell | undefined)[] = [];
    for (const [place, value] of cells) {
      const range = value.kind === 'text' && value.text.trim() === '' ? undefined : rangeOf(place);
      row[place] = range === undefined ? value : { kind: 'merged', text: range, holds: value.text };
    }
    return { line, width: row.length, cells: row };
  });
};

const ofXlsx = (file: Buffer, wanted?: string): { rows: TableRow[]; forms: TableForms; sheet: Sheet } => {
  try {
    const sheet = readXlsx(file, wanted);
    return { rows: sheetRows(sheet), forms: { file: 'xlsx', sheet: sheet.name }, sheet };
  } catch (error) {
    if (error instanceof RangeError) {
      const isOfSheet = wanted !== undefined || error.message.includes('name one by sheet');
      const pointer = isOfSheet && error.message.includes('sheet') ? '/sheet' : '/file';
      throw refused(pointer, wanted, `the workbook cannot be read: ${error.message}`);
    }
    throw error;
  }
};

/** @throws ProblemError invalid when a sheet is named for a CSV */
export const assertNoSheet = (sheet?: string): void => {
  if (sheet !== undefined)
    throw refused('/sheet', sheet, 'sheet is given, but the file is no workbook (.xlsx)');
};

const ofCsv = (
  file: Buffer,
  { encoding: declared, delimiter: separator, sheet }: TableFile,
  most: number,
): { rows: TableRow[]; forms: TableForms; delimiter: string } => {
  assertNoSheet(sheet);
  const { text, encoding } = decode(file, declared);
  refuseLongLines(text);
  const delimiter = separator === undefined ? findDelimiter(text) : readDelimiter(separator);
  return {
    rows: csvRows(text, delimiter, most),
    forms: { file: 'csv', encoding, delimiter: delimiterName(delimiter) },
    delimiter,
  };
};

export const tooManyRows = (most: number): ProblemError =>
  refused('/file', undefined, `the table has more than ${most} rows: split it`);

export const noRows = (what: string): ProblemError =>
  refused('/file', undefined, `the table has a heading row but no ${what}`);

/** The heading row, and the rows below it. */
export const headed = (
  rows: TableRow[],
  { isHead, headHas }: TableKind,
  where: string,
): [TableRow | undefined, TableRow[]] => {
  const index = rows.findIndex((row) => !isBlank(row));
  if (isHead === undefined || index < 0) return [rows[index], rows.slice(index + 1)];
  const at = rows
    .slice(0, MOST_ABOVE)
    .findIndex(({ cells }) => isHead(Array.from(cells, (cell) => heading(textOf(cell)))));
  if (at >= 0) return [rows[at], rows.slice(at + 1)];
  if (headHas === undefined) return [rows[index], rows.slice(index + 1)];
  throw refused(
    '/file',
    undefined,
    `${where} has no row of headings: none of its first ${MOST_ABOVE} rows has ${headHas}`,
  );
};

/**
 * Whether a file is a workbook, from its first bytes.
 * @throws ProblemError invalid for a format that is not supported, and for formats declared that apply to CSV only
 */
export const isWorkbookFile = (head: Buffer, table: Omit<TableFile, 'file'>): boolean => {
  if (head.length === 0) throw refused('/file', undefined, 'the file is empty');
  if (head.subarray(0, 4).equals(COMPOUND))
    throw refused(
      '/file',
      undefined,
      'the file is an old .xls, or a workbook with a password: save it as .xlsx without one',
    );
  if (!head.subarray(0, 2).equals(WORKBOOK)) return false;
  for (const name of ['delimiter', 'encoding'] as const)
    if (table[name] !== undefined)
      throw refused(`/${name}`, table[name], `${name} is given, but the file is a workbook, which has none`);
  return true;
};

/**
 * Reads a table, from CSV or from a workbook as detected: a heading row, then the data rows. Rows without any text are skipped, as
 * spreadsheets often leave some behind; a row with more or fewer columns than the headings is passed on unchanged.
 * @throws ProblemError invalid when it cannot be read as a table, too_large above the limit
 */
export const readTable = (table: TableFile, kind: TableKind): Table => {
  const { buffer, byteOffset, byteLength } = table.file;
  const file = Buffer.from(buffer, byteOffset, byteLength);
  const { mostRows, rows: what } = kind;
  if (file.length > TABLE_LIMIT_BYTES)
    throw new ProblemError('too_large', `The table is larger than ${TABLE_LIMIT_BYTES / 1024 / 1024} MB.`);
  const isWorkbook = isWorkbookFile(file, table);
  const read = isWorkbook ? ofXlsx(file, table.sheet) : ofCsv(file, table, mostRows + MOST_ABOVE + 2);
  const where = 'sheet' in read ? `sheet "${read.sheet.name}"` : 'the table';
  const [head, below] = headed(read.rows, kind, where);
  if (below.length > mostRows) throw tooManyRows(mostRows);
  const rows = below.filter((row) => !isBlank(row));
  if (!head) throw refused('/file', undefined, 'the file is empty');
  for (const cell of head.cells)
    if (cell?.kind === 'merged')
      throw refused(
        '/file',
        cell.holds,
        `the heading ${quoted(cell.holds)} lies in the merged cells ${cell.text}: unmerge them`,
      );
  const headings = Array.from(head.cells, (cell) => heading(textOf(cell)));
  if ('delimiter' in read) assertDelimiter(headings, read.delimiter);
  if (rows.length === 0) throw noRows(what);
  // Sheets have no fixed width: a value to the right of the headings makes a row too wide.
  if (isWorkbook) for (const row of rows) row.width = Math.max(headings.length, lastPlace(row) + 1);
  return { headings, rows, forms: read.forms };
};

const lastPlace = ({ cells }: TableRow): number =>
  cells.reduce<number>((last, cell, place) => (isEmpty(cell) ? last : place), -1);
