import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { heading, type TableRow, textOf } from './cell.js';
import { csvRowsOf } from './csv-rows.js';
import { EncodingFinder, TextDecoding } from './decode.js';
import { findDelimiter } from './delimiter.js';
import {
  assertDelimiter,
  delimiterName,
  type Encoding,
  readDelimiter,
  refused,
  type TableForms,
} from './forms.js';
import {
  assertNoSheet,
  headed,
  isBlank,
  isWorkbookFile,
  MOST_ABOVE,
  type TableFile,
  type TableKind,
  tooManyRows,
} from './read-table.js';

/** How much of a file is examined to detect its delimiter. [characters] */
const HEAD_CHARACTERS = 200_000;

const HEAD_BYTES = 4;

/** A table that is read from its file each time it is needed, some rows at a time. */
export interface StreamedTable {
  headings: string[];
  forms: TableForms;
  /** The rows below the headings, without blank ones. @throws ProblemError invalid where they cannot be read */
  rows(): AsyncGenerator<TableRow[]>;
}

async function* textOfFile(file: string, encoding: Encoding): AsyncGenerator<string> {
  const decoding = new TextDecoding(encoding);
  for await (const piece of createReadStream(file)) yield decoding.take(piece as Buffer);
  yield decoding.end();
}

/** The beginning of a text, up to a line end. */
const headOf = async (pieces: AsyncIterable<string>): Promise<string> => {
  let head = '';
  for await (const piece of pieces) {
    head += piece;
    if (head.length > HEAD_CHARACTERS) return head.slice(0, head.lastIndexOf('\n') + 1) || head;
  }
  return head;
};

const encodingOf = async (
  file: string,
  declared: string | undefined,
  signal?: AbortSignal,
): Promise<Encoding> => {
  const finder = new EncodingFinder();
  for await (const piece of createReadStream(file, { signal })) finder.take(piece as Buffer);
  return finder.decide(declared);
};

/** Whether a file on disk is a workbook. @throws ProblemError as isWorkbookFile */
export const isWorkbookOnDisk = async (file: string, sent: Omit<TableFile, 'file'>): Promise<boolean> => {
  const handle = await open(file, 'r');
  try {
    const { buffer, bytesRead } = await handle.read(Buffer.alloc(HEAD_BYTES), 0, HEAD_BYTES, 0);
    return isWorkbookFile(buffer.subarray(0, bytesRead), sent);
  } finally {
    await handle.close();
  }
};

/**
 * Opens a table of any length, a CSV on disk: only some of its rows are in memory at a time.
 * @throws ProblemError invalid when its beginning cannot be read as a table
 */
export const openCsv = async (
  file: string,
  { encoding: declared, delimiter: separator, sheet }: Omit<TableFile, 'file'>,
  kind: TableKind,
  signal?: AbortSignal,
): Promise<StreamedTable> => {
  assertNoSheet(sheet);
  const encoding = await encodingOf(file, declared, signal);
  const delimiter =
    separator === undefined
      ? findDelimiter(await headOf(textOfFile(file, encoding)))
      : readDelimiter(separator);
  const first: TableRow[] = [];
  for await (const rows of csvRowsOf(textOfFile(file, encoding), delimiter)) {
    first.push(...rows);
    if (first.length > MOST_ABOVE) break;
  }
  const [head] = headed(first.slice(0, MOST_ABOVE + 1), kind, 'the table');
  if (!head) throw refused('/file', undefined, 'the file is empty');
  const headings = Array.from(head.cells, (cell) => heading(textOf(cell)));
  assertDelimiter(headings, delimiter);
  const { mostRows } = kind;
  async function* rows(): AsyncGenerator<TableRow[]> {
    let count = 0;
    for await (const read of csvRowsOf(textOfFile(file, encoding), delimiter)) {
      const below = read.filter(({ line }) => line > (head?.line ?? 0));
      if ((count += below.length) > mostRows) throw tooManyRows(mostRows);
      yield below.filter((row) => !isBlank(row));
    }
  }
  return { headings, forms: { file: 'csv', encoding, delimiter: delimiterName(delimiter) }, rows };
};
