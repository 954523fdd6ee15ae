import { type CsvTable, readCsv } from '../../../common/files/csv-table.js';

export { readDelimiter, type TableRow } from '../../../common/files/csv-table.js';

/** Most rows of one table, blank ones too; a drive of 20 km has some 12 000 strokes. */
export const TABLE_LIMIT_ROWS = 50_000;

/** Reads a table of strokes. @throws ProblemError invalid when it cannot be read as a table, too_large over the limit */
export const readTable = (file: Buffer, delimiter: string): CsvTable =>
  readCsv(file, delimiter, { mostRows: TABLE_LIMIT_ROWS, rows: 'strokes' });
