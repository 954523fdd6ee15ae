import { isUtf8 } from 'node:buffer';
import { CsvError, parse } from 'csv-parse/sync';
import { faulty, ProblemError, shown } from '../api/problem.js';

/** Largest file that is read, 20 MB. */
export const TABLE_LIMIT_BYTES = 20 * 1024 * 1024;

/** Longest line, and longest row: a quotation mark that is never closed would swallow the file. */
const ROW_LIMIT_CHARACTERS = 100_000;

/** Most columns of a row, and cells of all rows together: a row of delimiters alone would have 100,000 of them. */
const MOST_COLUMNS = 500;
const MOST_CELLS = 2_000_000;

/** What may separate the columns, by name too: command lines and forms have their own use for some of them. */
const DELIMITERS: Record<string, string> = { comma: ',', semicolon: ';', tab: '\t', pipe: '|' };

const nameOf = (delimiter: string): string | undefined =>
  Object.keys(DELIMITERS).find((name) => DELIMITERS[name] === delimiter);

/** What a table may hold. */
export interface TableKind {
  /** most rows, blank ones too */
  mostRows: number;
  /** what its rows are, as in "a heading row and no strokes" */
  rows: string;
}

export interface TableRow {
  /** line of the file on which the row begins, 1 for the first */
  line: number;
  cells: string[];
}

export interface CsvTable {
  headings: string[];
  rows: TableRow[];
}

/** A heading as it is compared: blanks around it do not count, nor how its lines end. */
export const heading = (text: string): string => text.replaceAll(/\r\n?/g, '\n').trim();

const refused = (pointer: string, value: unknown, detail: string): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer, value, detail }]);

/** @throws ProblemError invalid for another character than those that separate tables */
export const readDelimiter = (text = ','): string => {
  const delimiter = (Object.hasOwn(DELIMITERS, text) ? DELIMITERS[text] : text) ?? text;
  if (nameOf(delimiter)) return delimiter;
  throw refused(
    '/delimiter',
    shown(text),
    'the delimiter must be , ; | or a tab, or one of comma, semicolon, pipe, tab',
  );
};

/** The first line that is not UTF-8; a line's end is never part of a longer character. */
const foreignLine = (file: Buffer): number => {
  for (let line = 1, start = 0; start < file.length; line += 1) {
    const end = file.indexOf(0x0a, start);
    if (!isUtf8(file.subarray(start, end < 0 ? file.length : end))) return line;
    if (end < 0) break;
    start = end + 1;
  }
  return 1;
};

/** The parser counts no delimiters in its own limit on a row. */
const refuseLongLines = (text: string): void => {
  for (let line = 1, start = 0; start < text.length; line += 1) {
    const next = text.indexOf('\n', start);
    const end = next < 0 ? text.length : next;
    if (end - start > ROW_LIMIT_CHARACTERS)
      throw refused('/file', undefined, `line ${line} is longer than ${ROW_LIMIT_CHARACTERS} characters`);
    start = end + 1;
  }
};

const decoded = (file: Buffer): string => {
  if (file.length > TABLE_LIMIT_BYTES)
    throw new ProblemError('too_large', `The table is larger than ${TABLE_LIMIT_BYTES / 1024 / 1024} MB.`);
  if (file.length === 0) throw refused('/file', undefined, 'the file is empty');
  const save = 'save the table as CSV in UTF-8';
  if (!isUtf8(file))
    throw refused('/file', undefined, `the file is not UTF-8, from line ${foreignLine(file)} on: ${save}`);
  if (file.includes(0))
    throw refused('/file', undefined, `the file contains NUL bytes and is not text: ${save}`);
  const text = file.toString('utf8').replaceAll(/\r\n?/g, '\n');
  refuseLongLines(text);
  return text;
};

const parsed = (text: string, delimiter: string, mostRows: number): TableRow[] => {
  const starts: number[] = [];
  let lines = 0;
  let cellCount = 0;
  try {
    const records: string[][] = parse(text, {
      bom: true,
      delimiter,
      record_delimiter: '\n',
      relax_column_count: true,
      max_record_size: ROW_LIMIT_CHARACTERS,
      to: mostRows + 2,
      on_record: (cells: string[], context) => {
        const line = lines + 1;
        if (cells.length > MOST_COLUMNS)
          throw refused('/file', undefined, `line ${line} has more than ${MOST_COLUMNS} columns`);
        if ((cellCount += cells.length) > MOST_CELLS)
          throw refused(
            '/file',
            undefined,
            `the table has more than ${MOST_CELLS} cells up to line ${line}: split it`,
          );
        starts.push(line);
        lines = context.lines;
        return cells;
      },
    });
    return records.map((cells, index) => ({ line: starts[index] ?? 0, cells }));
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const why: Partial<Record<string, string>> = {
      CSV_QUOTE_NOT_CLOSED: 'a quotation mark is opened and never closed',
      CSV_MAX_RECORD_SIZE: `the row is longer than ${ROW_LIMIT_CHARACTERS} characters; is a quotation mark not closed?`,
      CSV_INVALID_CLOSING_QUOTE: 'text follows a closing quotation mark',
      INVALID_OPENING_QUOTE: 'a quotation mark is inside a field that does not begin with one',
    };
    throw refused('/file', undefined, `line ${lines + 1}: ${why[error.code] ?? error.message}`);
  }
};

/** @throws ProblemError invalid for a heading row that is one column, and would be more by another delimiter */
export const assertDelimiter = (headings: string[], delimiter: string): void => {
  const other = Object.entries(DELIMITERS).find(([, character]) => headings[0]?.includes(character));
  if (headings.length !== 1 || !other) return;
  throw refused(
    '/delimiter',
    delimiter,
    `with ${nameOf(delimiter)} as the delimiter the heading row is one column; it holds a ${other[0]}: name the delimiter that the file uses`,
  );
};

const isBlank = ({ cells }: TableRow): boolean => cells.every((cell) => cell.trim() === '');

/**
 * Reads a CSV file: a heading row, then a row each. Rows without any text are passed over, as spreadsheets leave
 * them behind; a row with more or fewer columns than headings is handed on as it is.
 * @throws ProblemError invalid when it cannot be read as a table, too_large over the limit
 */
export const readCsv = (file: Buffer, delimiter: string, { mostRows, rows: what }: TableKind): CsvTable => {
  const all = parsed(decoded(file), delimiter, mostRows);
  if (all.length > mostRows + 1)
    throw refused('/file', undefined, `the table has more than ${mostRows} rows: split it`);
  const [head, ...rows] = all.filter((row) => !isBlank(row));
  if (!head) throw refused('/file', undefined, 'the file is empty');
  const headings = head.cells.map(heading);
  assertDelimiter(headings, delimiter);
  if (rows.length === 0) throw refused('/file', undefined, `the table has a heading row but no ${what}`);
  return { headings, rows };
};
