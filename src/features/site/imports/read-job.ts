import { canonicalRows, type DeclaredForms } from '../../../common/files/table/canonical.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { readTable, type TableFile } from '../../../common/files/table/read-table.js';
import { scaled } from '../../../common/files/table/units.js';
import { job } from '../../../common/work/job.js';
import { type Packed, packed } from '../../../common/work/packed.js';
import type { ReadColumn } from './headings.js';
import { isHeadingRow, sourcesOf } from './map.js';

/** Most rows of one table, blank ones too. */
export const MOST_ROWS = 5000;

/** A table as it was sent, and what its columns may be. */
export interface ImportFile extends TableFile, DeclaredForms {
  map?: string;
  columns: ReadColumn[];
  /** as in "a heading row and no probe holes" */
  rows: string;
}

export interface ReadCell {
  text: string;
  fault?: string;
}

export interface ReadRow {
  /** as the spreadsheet shows it */
  line: number;
  /** by the fields */
  cells: ReadCell[];
  /** why it cannot be read at all */
  broken?: string;
}

export interface ReadTable {
  /** the fields of the cells of a row, in their order */
  fields: string[];
  /** headings of columns that are not read */
  ignored: string[];
  rows: Packed<ReadRow>;
  forms: TableForms;
}

/** Reads a table as far as its columns are of the kind. @throws ProblemError for a file, a map or headings that cannot be read */
export const readImport = ({ map, columns, rows: what, ...sent }: ImportFile): ReadTable => {
  const table = readTable(sent, {
    mostRows: MOST_ROWS,
    rows: what,
    isHead: (headings) => isHeadingRow(map, columns, headings),
  });
  const { headings } = table;
  const sources = sourcesOf(map, columns, headings);
  const placed = sources.filter(({ place }) => place !== undefined);
  const typed = placed.map(({ field, place = -1 }) => ({
    name: field,
    type: columns.find((column) => column.field === field)?.type ?? ('text' as const),
    place,
  }));
  const { rows, forms } = canonicalRows(table.rows, typed, sent, table.forms);
  const isCsv = table.forms.file === 'csv';
  return {
    fields: sources.map(({ field }) => field),
    ignored: headings.filter(
      (text, place) => text !== '' && !placed.some((source) => source.place === place),
    ),
    rows: packed(
      rows.map(({ line, width, cells }): ReadRow => {
        const broken =
          width === headings.length || (!isCsv && width <= headings.length)
            ? undefined
            : `the row has ${width} columns; there are ${headings.length} headings`;
        const read = sources.map((source): ReadCell => {
          const { value, place, factor, offset } = source;
          if (place === undefined) return { text: value ?? '' };
          const cell = cells[placed.indexOf(source)] ?? { text: '' };
          return cell.text === '' || cell.fault !== undefined
            ? cell
            : { text: scaled(cell.text, factor, offset) };
        });
        return { line, cells: read, ...(broken !== undefined && { broken }) };
      }),
    ),
    forms,
  };
};

/** The same in another thread. */
export const READ_IMPORT = job(import.meta.url, readImport);
