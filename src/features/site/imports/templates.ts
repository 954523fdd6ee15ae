import { csvOf } from '../../../common/files/csv.js';
import type { PrintSheet, XlsxCell } from '../../../common/files/xlsx.js';
import { CODES_SHEET } from '../../../common/files/xlsx-read.js';
import { toldType } from './kind-columns.js';
import type { Kind, KindColumn } from './kinds.service.js';

/** Ratings nest deeper than is practical in a form: deeper columns are read if a table has them, as lists of the record do. */
const MOST_DEPTH = 3;

/** The columns offered in a template. */
export const filledIn = ({ columns, members }: Kind): KindColumn[] =>
  columns.filter(
    ({ part, path }) =>
      part !== 'answer' && (part !== 'shown' || members?.key !== undefined) && path.length <= MOST_DEPTH,
  );

/** A heading that the import can read: the name of the field, with its unit. */
export const headingOf = ({ field, unit }: Pick<KindColumn, 'field' | 'unit'>): string =>
  unit === undefined ? field : `${field} [${unit}]`;

/** The heading row alone. */
export const csvTemplate = (kind: Kind): string =>
  csvOf(
    filledIn(kind).map((column) => quoted(headingOf(column))),
    [],
  );

const quoted = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

const headed = (titles: string[]): XlsxCell[] =>
  titles.map((text) => ({ text, font: 'bold', shaded: true, line: 'below', wrap: true }));

/**
 * The heading row, and on a second sheet the meaning of each column with the codes that it allows.
 * @param ofProject  the project's codes, by column
 */
export const xlsxTemplate = (
  kind: Kind,
  ofProject: ReadonlyMap<string, readonly string[]>,
): [PrintSheet, PrintSheet] => {
  const columns = filledIn(kind);
  const headings = columns.map(headingOf);
  const codesOf = ({ field, codes }: KindColumn): readonly string[] => codes ?? ofProject.get(field) ?? [];
  const explained = columns.map((column): (XlsxCell | null)[] => [
    { text: headingOf(column) },
    { text: column.part === 'key' ? 'key' : column.isNeeded ? 'needed' : 'optional' },
    { text: toldType(column) },
    { text: column.description, wrap: true },
    codesOf(column).length > 0 ? { text: codesOf(column).join(', '), wrap: true } : null,
  ]);
  return [
    {
      name: kind.kind,
      widths: headings.map((text) => Math.max(12, Math.min(30, text.length + 2))),
      headingRow: 1,
      footer: `Template: ${kind.rows}`,
      rows: [headed(headings)],
    },
    {
      name: CODES_SHEET,
      widths: [28, 10, 10, 80, 60],
      headingRow: 1,
      footer: `Columns and allowed codes: ${kind.rows}`,
      rows: [headed(['Column', 'Needed', 'Holds', 'What it is', 'Allowed codes']), ...explained],
    },
  ];
};
