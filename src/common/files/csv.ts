export const CSV = 'text/csv';

/** A cell that a spreadsheet would take for a formula, or run; with the full-width forms (OWASP, CSV injection). */
const FORMULA = /^'*[=+\-@\t\r\n＝＋－＠]/;

/**
 * Text that no spreadsheet runs: an apostrophe stands before what would begin a formula, and before such an apostrophe. It is
 * taken away again by `readText`.
 */
export const safeText = (text: string): string => (FORMULA.test(text) ? `'${text}` : text);

/** Text as it was before it was made safe. */
export const readText = (text: string): string =>
  text.startsWith("'") && FORMULA.test(text) ? text.slice(1) : text;

/** What stands in a cell: text, or a number in its exact decimal form; nothing where it is not known. */
export type CsvCell = { text: string } | { number: string } | null | undefined;

/** Text as it stands in a cell. */
export const textCell = (text: string): string => `"${safeText(text).replaceAll('"', '""')}"`;

const written = (cell: CsvCell): string => {
  if (cell == null) return '';
  return 'number' in cell ? cell.number : textCell(cell.text);
};

/** Rows as RFC 4180 has them: commas, text in quotation marks, lines that end by CR LF. */
export const csvOf = (headings: string[], rows: CsvCell[][]): string =>
  [headings, ...rows.map((row) => row.map(written))].map((row) => `${row.join(',')}\r\n`).join('');
