import {
  type CanonicalRow,
  canonicalRows,
  type DeclaredForms,
  type TypedColumn,
} from '../../../common/files/table/canonical.js';
import type { CanonicalCell } from '../../../common/files/table/cell.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { readTable, type TableFile } from '../../../common/files/table/read-table.js';
import { scaled } from '../../../common/files/table/units.js';
import { ProblemError } from '../../../common/api/problem.js';
import { job } from '../../../common/work/job.js';
import { type Packed, packed } from '../../../common/work/packed.js';
import type { ReadColumn, Source } from './headings.js';
import { isHeadingRow, sourcesOf } from './map.js';

/** How the columns of a table are named: by the map, or as the kind names them. */
export interface NamedColumns {
  map?: string;
  columns: ReadColumn[];
  /** of a kind of members: the columns of a table with a row per record, as lists of the record are */
  records?: ReadColumn[];
}

/** A table as sent, and its possible columns. */
export interface ImportFile extends TableFile, DeclaredForms, NamedColumns {
  /** as in "a heading row and no probe holes" */
  rows: string;
  mostRows: number;
}

export type ReadCell = CanonicalCell;

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
  /** a row is a record, though the kind is of members */
  isOfRecords: boolean;
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
    readonly isOfRecords: boolean,
  ) {
    this.placed = sources.filter(({ place }) => place !== undefined);
  }

  /**
   * The columns as the kind has them, otherwise as the list of its records has them.
   * @throws ProblemError for an invalid map or headings: the faults of the form that the table is nearer to
   */
  static of({ map, columns, records }: NamedColumns, headings: string[]): ImportColumns {
    const of = (known: readonly ReadColumn[], isOfRecords: boolean): ImportColumns =>
      new ImportColumns(known, headings, sourcesOf(map, known, headings), isOfRecords);
    const own = attempt(() => of(columns, false));
    if (own instanceof ImportColumns && (!records || own.canBeMembers)) return own;
    const whole = records && attempt(() => of(records, true));
    if (whole instanceof ImportColumns) return whole;
    if (own instanceof ImportColumns) return own;
    throw whole && whole.faults.length < own.faults.length ? whole : own;
  }

  /** Whether it has a column that members need: a row without any cannot be a member. */
  private get canBeMembers(): boolean {
    const needed = this.columns.filter(({ isOfMember }) => isOfMember);
    return needed.length === 0 || needed.some(({ field }) => this.fields.includes(field));
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
        : { ...cell, text: scaled(cell.text, factor, offset) };
    });
    return { line, cells: read, ...(broken !== undefined && { broken }) };
  }
}

/** @returns the refusal of what is refused */
const attempt = <T>(work: () => T): T | ProblemError => {
  try {
    return work();
  } catch (error) {
    if (error instanceof ProblemError) return error;
    throw error;
  }
};

/** Whether a row can be the heading row of a table with such columns. */
export const isHeadOf =
  ({ map, columns, records = [] }: NamedColumns) =>
  (headings: string[]): boolean =>
    isHeadingRow(map, [...columns, ...records], headings);

/** Reads a table as far as its columns belong to the kind. @throws ProblemError for an invalid file, map or headings */
export const readImport = ({
  map,
  columns,
  records,
  rows: what,
  mostRows,
  ...sent
}: ImportFile): ReadTable => {
  const named = { map, columns, records };
  const table = readTable(sent, { mostRows, rows: what, isHead: isHeadOf(named) });
  const read = ImportColumns.of(named, table.headings);
  const { rows, forms } = canonicalRows(table.rows, read.typed, sent, table.forms);
  const isCsv = table.forms.file === 'csv';
  return {
    fields: read.fields,
    ignored: read.ignored,
    isOfRecords: read.isOfRecords,
    rows: packed(rows.map((row) => read.row(row, isCsv))),
    forms,
  };
};

/** The same in another thread. */
export const READ_IMPORT = job(import.meta.url, readImport);
