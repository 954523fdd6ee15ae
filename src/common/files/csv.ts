export const CSV = 'text/csv';

/** A cell that a spreadsheet would interpret as a formula or execute, including full-width characters (OWASP, CSV injection). */
const FORMULA = /^'*[=+\-@\t\r\n＝＋－＠]/;

/**
 * Text that no spreadsheet executes: an apostrophe is put before anything that would begin a formula, and before such an
 * apostrophe. `readText` removes it again.
 */
export const safeText = (text: string): string => (FORMULA.test(text) ? `'${text}` : text);

/** The text before it was made safe. */
export const readText = (text: string): string =>
  text.startsWith("'") && FORMULA.test(text) ? text.slice(1) : text;

/** The value of a cell: text, or a number as an exact decimal; empty if unknown. */
export type CsvCell = { text: string } | { number: string } | null | undefined;

/** Text as written in a cell. */
export const textCell = (text: string): string => `"${safeText(text).replaceAll('"', '""')}"`;

const written = (cell: CsvCell): string => {
  if (cell == null) return '';
  return 'number' in cell ? cell.number : textCell(cell.text);
};

/** Rows as in RFC 4180: commas, quoted text, lines ending in CR LF. */
export const csvOf = (headings: string[], rows: CsvCell[][]): string =>
  [headings, ...rows.map((row) => row.map(written))].map((row) => `${row.join(',')}\r\n`).join('');
