import { CsvError, parse } from 'csv-parse/sync';
import { readText } from '../csv.js';
import { type Cell, type TableRow } from './cell.js';
import { refused } from './forms.js';

/** Longest line, and longest row: a quotation mark that is never closed would swallow the file. */
const ROW_LIMIT_CHARACTERS = 100_000;

/** Most columns of a row, and cells of all rows together: a row of delimiters alone would have 100,000 of them. */
const MOST_COLUMNS = 500;
const MOST_CELLS = 2_000_000;

/** The parser counts no delimiters in its own limit on a row. */
export const refuseLongLines = (text: string): void => {
  for (let line = 1, start = 0; start < text.length; line += 1) {
    const next = text.indexOf('\n', start);
    const end = next < 0 ? text.length : next;
    if (end - start > ROW_LIMIT_CHARACTERS)
      throw refused('/file', undefined, `line ${line} is longer than ${ROW_LIMIT_CHARACTERS} characters`);
    start = end + 1;
  }
};

/** @throws ProblemError invalid when the text cannot be read as rows */
export const csvRows = (text: string, delimiter: string, most: number): TableRow[] => {
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
      to: most,
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
    return records.map((cells, index) => ({
      line: starts[index] ?? 0,
      width: cells.length,
      cells: cells.map((cell): Cell | undefined =>
        cell.trim() === '' ? undefined : { kind: 'plain', text: readText(cell) },
      ),
    }));
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
