import { type CanonicalCell, type Cell, isEmpty, sheetNumber, type TableRow, textOf } from './cell.js';
import { type ChainageFinder, chainageFinder } from './chainages.js';
import { type DateFinder, dateFinder } from './dates.js';
import { type DecimalFinder, decimalFinder } from './decimals.js';
import type { TableForms } from './forms.js';
import { readTime } from './times.js';

/** Type of a column. */
export type CellType =
  | 'text'
  | 'number'
  /** a number with all its digits: a mean that a program computed */
  | 'reading'
  | 'chainage'
  | 'date'
  | 'instant'
  /** a time of day: HH:MM */
  | 'time'
  | 'boolean'
  | 'list';

/** A column to read. */
export interface TypedColumn {
  /** its field, as named in errors */
  name: string;
  type: CellType;
  /** its index among the headings */
  place: number;
  /** it is only compared: a formula without a stored value counts as empty */
  isHeld?: boolean;
}

/** Formats that a request declares for its table; those left out are detected. */
export interface DeclaredForms {
  decimal?: string;
  dates?: string;
  timeZone?: string;
  chainages?: string;
}

export interface CanonicalRow {
  line: number;
  width: number;
  /** values of the columns that are read */
  cells: CanonicalCell[];
}

const isNumber = (type: CellType): boolean => type === 'number' || type === 'reading';

const EMPTY: CanonicalCell = { text: '' };

const wrongKind = (cell: Cell, name: string, type: CellType): string | undefined => {
  switch (cell.kind) {
    case 'merged':
      return `${name} lies in the merged cells ${cell.text}: unmerge them`;
    case 'uncomputed':
      return `${name} is a formula without a stored value: let the spreadsheet compute and save it`;
    case 'other':
      return type === 'boolean'
        ? undefined
        : `${name} is ${cell.text}; it must be ${type === 'text' ? 'text' : `a ${isNumber(type) ? 'number' : type}`}`;
    case 'number':
      if (type === 'text' && !/^-?\d{1,15}$/.test(cell.text))
        return `${name} is the number ${cell.text}; it must be text, as 1.10 and 1.1 are one number: format the cell as text and enter it again`;
      if (type === 'date' || type === 'instant')
        return `${name} is the number ${cell.text}; it must be a date: format the cell as a date`;
      return undefined;
    case 'date':
      if (type === 'time')
        return `${name} is the date ${cell.text}; it must be a time of day: enter it without a date`;
      return isNumber(type) || type === 'chainage' || type === 'boolean'
        ? `${name} is the date ${cell.text}; it must be a ${type}: format the cell as a number and enter it again`
        : undefined;
    default:
      return undefined;
  }
};

/** The formats of a table, as declared or detected in its columns. */
class Forms {
  constructor(
    readonly decimals: DecimalFinder,
    readonly dates: DateFinder,
    readonly chainages: ChainageFinder,
  ) {}

  see(cell: Cell, { name, type }: TypedColumn, line: number): void {
    const text = textOf(cell);
    if (isNumber(type) && cell.kind !== 'number') this.decimals.see(text, name, line);
    else if (type === 'chainage') {
      if (cell.kind !== 'number' && !text.includes('+'))
        this.decimals.see(text.replaceAll(/\s/g, ''), name, line, text);
      this.chainages.see(cell.kind === 'number' ? sheetNumber(text) : text, name, line);
    } else if ((type === 'date' || type === 'instant') && cell.kind !== 'number')
      this.dates.see(text, name, line, type);
  }

  read(cell: Cell, { name, type, isHeld }: TypedColumn): CanonicalCell {
    if (isHeld && cell.kind === 'uncomputed') return EMPTY;
    const text = textOf(cell);
    const fault = wrongKind(cell, name, type);
    if (fault !== undefined) return { text, fault };
    if (type === 'boolean') return { text: text.toLowerCase() };
    if (type === 'date' || type === 'instant') return this.dates.read(text, name, type);
    if (type === 'time') return readTime(cell, name);
    if (cell.kind === 'number') {
      if (type === 'reading') return { text };
      const number = sheetNumber(text);
      return type === 'chainage' ? this.chainages.read(number, name) : { text: number };
    }
    if (isNumber(type)) return this.decimals.read(text, name);
    if (type !== 'chainage') return { text };
    if (text.includes('+')) return this.chainages.read(text, name);
    const { text: pointed, fault: sign } = this.decimals.read(text.replaceAll(' ', ''), name, text);
    return sign === undefined ? this.chainages.read(pointed, name, text) : { text, fault: sign };
  }
}

/** Converts the columns of a table to the one format that the service reads: first all rows are seen, then each is read. */
export class RowForms {
  private readonly found: Forms;

  constructor(
    private readonly columns: readonly TypedColumn[],
    declared: DeclaredForms,
    private readonly forms: TableForms,
  ) {
    this.found = new Forms(
      decimalFinder(declared.decimal, forms.delimiter),
      dateFinder(declared.dates, declared.timeZone),
      chainageFinder(declared.chainages),
    );
  }

  see({ line, cells }: TableRow): void {
    for (const column of this.columns) {
      const cell = cells[column.place];
      if (cell && !isEmpty(cell)) this.found.see(cell, column, line);
    }
  }

  /** @throws ProblemError invalid when the rows seen are ambiguous, with what to declare */
  decide(): TableForms {
    const { decimals, dates, chainages } = this.found;
    const decimal = decimals.decide(chainages.decimal());
    const used = { decimal, ...dates.decide(), chainages: chainages.decide() };
    return {
      ...this.forms,
      ...Object.fromEntries(Object.entries(used).filter(([, value]) => value !== undefined)),
    };
  }

  read({ line, width, cells }: TableRow): CanonicalRow {
    return {
      line,
      width,
      cells: this.columns.map((column): CanonicalCell => {
        const cell = cells[column.place];
        return cell && !isEmpty(cell) ? this.found.read(cell, column) : EMPTY;
      }),
    };
  }
}

/**
 * The same for rows that are all in memory.
 * @throws ProblemError invalid when the table is ambiguous, with what to declare
 */
export const canonicalRows = (
  rows: readonly TableRow[],
  columns: readonly TypedColumn[],
  declared: DeclaredForms,
  forms: TableForms,
): { rows: CanonicalRow[]; forms: TableForms } => {
  const all = new RowForms(columns, declared, forms);
  for (const row of rows) all.see(row);
  const used = all.decide();
  return { rows: rows.map((row) => all.read(row)), forms: used };
};
