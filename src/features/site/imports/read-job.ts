import {
  type CanonicalRow,
  canonicalRows,
  type DeclaredForms,
  type TypedColumn,
} from '../../../common/files/table/canonical.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { readTable, type TableFile } from '../../../common/files/table/read-table.js';
import { scaled } from '../../../common/files/table/units.js';
import { job } from '../../../common/work/job.js';
import { type Packed, packed } from '../../../common/work/packed.js';
import type { ReadColumn, Source } from './headings.js';
import { isHeadingRow, sourcesOf } from './map.js';

/** A table as sent, and its possible columns. */
export interface ImportFile extends TableFile, DeclaredForms {
  map?: string;
  columns: ReadColumn[];
  /** as in "a heading row and no probe holes" */
  rows: string;
  mostRows: number;
}

export interface ReadCell {
  text: string;
  fault?: string;
}

export interface ReadRow {
  /** as the spreadsheet shows it */
  line: number;
  /** values by field */
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

/** What is read from a table with these headings, and how its rows become rows of an import. */
export class ImportColumns {
  private readonly placed: Source[];

  private constructor(
    private readonly columns: readonly ReadColumn[],
    private readonly headings: string[],
    private readonly sources: Source[],
  ) {
    this.placed = sources.filter(({ place }) => place !== undefined);
  }

  /** @throws ProblemError for an invalid map or headings */
  static of(map: string | undefined, columns: readonly ReadColumn[], headings: string[]): ImportColumns {
    return new ImportColumns(columns, headings, sourcesOf(map, columns, headings));
  }

  get fields(): string[] {
    return this.sources.map(({ field }) => field);
  }

  get ignored(): string[] {
    return this.headings.filter(
      (text, place) => text !== '' && !this.placed.some((source) => source.place === place),
    );
  }

  get typed(): TypedColumn[] {
    return this.placed.map(({ field, place = -1 }) => {
      const { type = 'text', isHeld } = this.columns.find((column) => column.field === field) ?? {};
      return { name: field, type, isHeld, place };
    });
  }

  /** @param row  as read by RowForms for these columns */
  row({ line, width, cells }: CanonicalRow, isCsv: boolean): ReadRow {
    const { headings, sources, placed } = this;
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
  }
}

/** Reads a table as far as its columns belong to the kind. @throws ProblemError for an invalid file, map or headings */
export const readImport = ({ map, columns, rows: what, mostRows, ...sent }: ImportFile): ReadTable => {
  const table = readTable(sent, {
    mostRows,
    rows: what,
    isHead: (headings) => isHeadingRow(map, columns, headings),
  });
  const read = ImportColumns.of(map, columns, table.headings);
  const { rows, forms } = canonicalRows(table.rows, read.typed, sent, table.forms);
  const isCsv = table.forms.file === 'csv';
  return {
    fields: read.fields,
    ignored: read.ignored,
    rows: packed(rows.map((row) => read.row(row, isCsv))),
    forms,
  };
};

/** The same in another thread. */
export const READ_IMPORT = job(import.meta.url, readImport);
