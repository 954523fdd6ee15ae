import { Injectable } from '@nestjs/common';
import type { Class } from '../api/properties.js';
import type { ProblemCode } from '../api/problem.js';

/** A row of a table as read. */
export interface GivenRow {
  /** as the spreadsheet shows it, 1 for the first */
  line: number;
  /** values by the fields of the table; a fault says why a cell cannot be read */
  cells: readonly { text: string; fault?: string }[];
  /** why the row cannot be read at all */
  broken?: string;
}

/** Rows of a table that are validated together. */
export interface GivenTable {
  /** the fields of the cells of a row, in their order */
  fields: string[];
  rows: GivenRow[];
}

export interface TogetherRules {
  /** Valid rows are written even if others are rejected. */
  validRows: boolean;
  /** Records of earlier imports that the table lacks are removed. */
  replace: boolean;
  /** Largest gap that is closed up to the next start, as sent. [m] */
  closeGaps?: string;
}

export interface TakenRow {
  /** absent when it cannot be read */
  key?: string;
  outcome: 'created' | 'unchanged' | 'updated' | 'rejected';
  faults: { field: string; value?: unknown; detail: string }[];
  changes: { field: string; from: unknown; to: unknown }[];
  /** where it was read differently from how it was written */
  notes: string[];
}

/** The result of a table. */
export interface TakenTable {
  /** in table order */
  rows: TakenRow[];
  /** records removed because the table lacks them */
  removed: number;
  /** problem code of rejected rows */
  code: ProblemCode;
  /** length of the rows not rejected [m] */
  lengthM?: string;
  /** number of records with doubts after the import, and the first of their doubts */
  doubted?: number;
  doubts?: object[];
}

/** Records of a drive whose rows are validated against each other and against existing records, and written in a fixed number of statements. */
export interface TogetherKind {
  /** as in addresses */
  kind: string;
  /** declares the columns of a row */
  row: Class;
  /** address of the list of its records, below the project; a table's columns that only the list has are ignored */
  list: string;
  /** columns that form the key of a record */
  keys: readonly string[];
  /** @throws ProblemError for a table that lacks required columns, or has two for the same field */
  assertFields(fields: readonly string[]): void;
  /** @throws ProblemError for an invalid rule */
  assertRules(rules: TogetherRules): void;
  /**
   * Validates the rows and, unless one is rejected and validRows is false, writes them in the current transaction.
   * @throws ProblemError for faults that belong to no row; not_found for the drive
   */
  take(drive: string, table: GivenTable, rules: TogetherRules): Promise<TakenTable>;
}

/** The kinds of record imported in this way, registered by features. */
@Injectable()
export class TogetherKinds {
  private readonly kinds = new Map<string, TogetherKind>();

  register(kind: TogetherKind): void {
    this.kinds.set(kind.kind, kind);
  }

  /** @throws Error when no feature has registered the kind */
  of(name: string): TogetherKind {
    const found = this.kinds.get(name);
    if (!found) throw new Error(`nothing takes tables of ${name}`);
    return found;
  }
}
