import { CsvError, parse } from 'csv-parse/sync';
import { readText } from '../csv.js';
import { type Cell, type TableRow } from './cell.js';
import { refused } from './forms.js';

/** Longest line, and longest row: an unclosed quotation mark would swallow the file. */
const ROW_LIMIT_CHARACTERS = 100_000;

/** Most columns of a row, and most cells of all rows: a row of nothing but delimiters would have 100,000. */
const MOST_COLUMNS = 500;
const MOST_CELLS = 2_000_000;

/** The parser's own row limit does not count delimiters. @param before  lines before the text */
export const refuseLongLines = (text: string, before = 0): void => {
  for (let line = before + 1, start = 0; start < text.length; line += 1) {
    const next = text.indexOf('\n', start);
    const end = next < 0 ? text.length : next;
    if (end - start > ROW_LIMIT_CHARACTERS)
      throw refused('/file', undefined, `line ${line} is longer than ${ROW_LIMIT_CHARACTERS} characters`);
    start = end + 1;
  }
};

const TOO_LONG = `the row is longer than ${ROW_LIMIT_CHARACTERS} characters; is a quotation mark not closed?`;

/**
 * @param before  lines before the text
 * @throws ProblemError invalid when the text cannot be read as rows
 */
export const csvRows = (text: string, delimiter: string, most?: number, before = 0): TableRow[] => {
  const starts: number[] = [];
  let lines = before;
  let cellCount = 0;
  try {
    const records: string[][] = parse(text, {
      bom: true,
      delimiter,
      record_delimiter: '\n',
      relax_column_count: true,
      max_record_size: ROW_LIMIT_CHARACTERS,
      ...(most !== undefined && { to: most }),
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
        lines = before + context.lines;
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
      CSV_MAX_RECORD_SIZE: TOO_LONG,
      CSV_INVALID_CLOSING_QUOTE: 'text follows a closing quotation mark',
      INVALID_OPENING_QUOTE: 'a quotation mark is inside a field that does not begin with one',
    };
    throw refused('/file', undefined, `line ${lines + 1}: ${why[error.code] ?? error.message}`);
  }
};

/** End of the last complete row of a text: after a line feed that is not quoted. */
const lastRowEnd = (text: string): number => {
  let end = 0;
  let isQuoted = false;
  for (let at = 0; at < text.length; at += 1) {
    const code = text.charCodeAt(at);
    if (code === 0x22) isQuoted = !isQuoted;
    else if (code === 0x0a && !isQuoted) end = at + 1;
  }
  return end;
};

/**
 * The rows of a text that arrives in chunks, some rows at a time.
 * @throws ProblemError invalid when it cannot be read as rows
 */
export async function* csvRowsOf(
  pieces: AsyncIterable<string>,
  delimiter: string,
): AsyncGenerator<TableRow[]> {
  let held = '';
  let lines = 0;
  const rows = (text: string): TableRow[] => {
    refuseLongLines(text, lines);
    const read = csvRows(text, delimiter, undefined, lines);
    for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) lines += 1;
    return read;
  };
  for await (const piece of pieces) {
    held += piece;
    const end = lastRowEnd(held);
    if (end > 0) {
      yield rows(held.slice(0, end));
      held = held.slice(end);
    } else if (held.length > 2 * ROW_LIMIT_CHARACTERS)
      throw refused('/file', undefined, `line ${lines + 1}: ${TOO_LONG}`);
  }
  if (held !== '') yield rows(held);
}
