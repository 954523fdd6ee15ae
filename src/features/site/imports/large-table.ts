import { readFile, stat } from 'node:fs/promises';
import { type DeclaredForms, RowForms } from '../../../common/files/table/canonical.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { noRows, TABLE_LIMIT_BYTES, type TableFile } from '../../../common/files/table/read-table.js';
import { isWorkbookOnDisk, openCsv } from '../../../common/files/table/stream-table.js';
import { ProblemError } from '../../../common/api/problem.js';
import { Turns } from '../../../common/work/turns.js';
import { unpacked } from '../../../common/work/packed.js';
import type { Workers } from '../../../common/work/workers.js';
import { MOST_LARGE_ROWS } from './limits.js';
import { ImportColumns, isHeadOf, type NamedColumns, READ_IMPORT, type ReadRow } from './read-job.js';

/** Rows of a workbook passed on at once. */
const PART = 1000;

/** A table on disk, and its possible columns. */
export interface LargeFile extends Omit<TableFile, 'file'>, DeclaredForms, NamedColumns {
  path: string;
  /** as in "a heading row and no probe holes" */
  rows: string;
}

/** A table as an import reads it, row by row, as often as needed. */
export interface LargeTable {
  /** the fields of the cells of a row, in their order */
  fields: string[];
  /** headings of columns that are not read */
  ignored: string[];
  /** a row is a record, though the kind is of members */
  isOfRecords: boolean;
  forms: TableForms;
  rowCount: number;
  rows(): AsyncGenerator<ReadRow[]>;
}

const kindOf = (file: LargeFile) => ({
  mostRows: MOST_LARGE_ROWS,
  rows: file.rows,
  isHead: isHeadOf(file),
});

/**
 * Checks a table by its beginning.
 * @returns its fields; undefined: it is a workbook, which is read later
 * @throws ProblemError for an invalid file, map or headings
 */
export const assertReadable = async (file: LargeFile): Promise<string[] | undefined> => {
  if (await isWorkbookOnDisk(file.path, file)) {
    await assertSize(file.path);
    return undefined;
  }
  const { headings, rows } = await openCsv(file.path, file, kindOf(file));
  const { fields } = ImportColumns.of(file, headings);
  for await (const { length } of rows()) if (length > 0) return fields;
  throw noRows(file.rows);
};

/** A workbook is read as a whole, because its parts may be in any order. @throws ProblemError too_large */
const assertSize = async (path: string): Promise<void> => {
  if ((await stat(path)).size > TABLE_LIMIT_BYTES)
    throw new ProblemError(
      'too_large',
      `The workbook is larger than ${TABLE_LIMIT_BYTES / 1024 / 1024} MB, as it is read whole: save the table as CSV.`,
    );
};

/**
 * Opens a table, and reads it once to detect its formats.
 * @throws ProblemError for an invalid file, map or headings, or an ambiguous table
 */
export const openLarge = async (
  file: LargeFile,
  workers: Workers,
  signal?: AbortSignal,
): Promise<LargeTable> => {
  if (!(await isWorkbookOnDisk(file.path, file))) return openLargeCsv(file, signal);
  await assertSize(file.path);
  const { path, ...sent } = file;
  const table = await workers.run(READ_IMPORT, {
    ...sent,
    file: await readFile(path),
    mostRows: MOST_LARGE_ROWS,
  });
  const all = await unpacked(table.rows);
  async function* rows(): AsyncGenerator<ReadRow[]> {
    for (let from = 0; from < all.length; from += PART)
      yield await Promise.resolve(all.slice(from, from + PART));
  }
  return { ...table, rowCount: all.length, rows };
};

const openLargeCsv = async (file: LargeFile, signal?: AbortSignal): Promise<LargeTable> => {
  const table = await openCsv(file.path, file, kindOf(file), signal);
  const columns = ImportColumns.of(file, table.headings);
  const seen = new RowForms(columns.typed, file, table.forms);
  const turns = new Turns();
  let rowCount = 0;
  for await (const rows of table.rows()) {
    signal?.throwIfAborted();
    for (const row of rows) {
      if (turns.isOver) await turns.wait();
      seen.see(row);
    }
    rowCount += rows.length;
  }
  if (rowCount === 0) throw noRows(file.rows);
  const forms = seen.decide();
  async function* rows(): AsyncGenerator<ReadRow[]> {
    for await (const read of table.rows()) yield read.map((row) => columns.row(seen.read(row), true));
  }
  const { fields, ignored, isOfRecords } = columns;
  return { fields, ignored, isOfRecords, forms, rowCount, rows };
};
