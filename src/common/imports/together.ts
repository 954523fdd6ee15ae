import { Injectable } from '@nestjs/common';
import type { Class } from '../api/properties.js';
import type { ProblemCode } from '../api/problem.js';

/** A row of a table as it was read. */
export interface GivenRow {
  /** as the spreadsheet shows it, 1 for the first */
  line: number;
  /** by the fields of the table; a fault says why a cell cannot be read */
  cells: { text: string; fault?: string }[];
  /** why the row cannot be read at all */
  broken?: string;
}

/** Rows of a table that are judged together. */
export interface GivenTable {
  /** the fields of the cells of a row, in their order */
  fields: string[];
  rows: GivenRow[];
}

export interface TogetherRules {
  /** Rows without faults are written though others are rejected. */
  validRows: boolean;
  /** What was imported before and the table lacks is removed. */
  replace: boolean;
  /** Largest gap that is closed to the next start, as it was sent. [m] */
  closeGaps?: string;
}

export interface TakenRow {
  /** absent when it cannot be read */
  key?: string;
  outcome: 'created' | 'unchanged' | 'updated' | 'rejected';
  faults: { field: string; value?: unknown; detail: string }[];
  changes: { field: string; from: unknown; to: unknown }[];
  /** how it was taken otherwise than written */
  notes: string[];
}

/** What came of a table. */
export interface TakenTable {
  /** in the order of the table */
  rows: TakenRow[];
  /** records removed because the table lacks them */
  removed: number;
  /** the problem that rejected rows are */
  code: ProblemCode;
  /** length of the rows that are not rejected [m] */
  lengthM?: string;
  /** records that are doubted as they now stand, and the first doubts about them */
  doubted?: number;
  doubts?: object[];
}

/** Records of a drive whose rows are judged by each other and by what stands beside them, and written in a fixed number of statements. */
export interface TogetherKind {
  /** as it stands in addresses */
  kind: string;
  /** declares the columns of a row */
  row: Class;
  /** where its records are listed, below the project; what the list shows beside those columns is passed over in a table */
  list: string;
  /** names of the columns that are the key of a record */
  keys: readonly string[];
  /** @throws ProblemError for a table without columns that it needs, or with two for one thing */
  assertFields(fields: readonly string[]): void;
  /** @throws ProblemError for a rule that cannot be read */
  assertRules(rules: TogetherRules): void;
  /**
   * Judges the rows and, unless one is rejected and validRows is false, writes them in the transaction at hand.
   * @throws ProblemError for what is wrong with none of the rows; not_found for the drive
   */
  take(drive: string, table: GivenTable, rules: TogetherRules): Promise<TakenTable>;
}

/** The kinds of record whose rows are taken together, as features register them. */
@Injectable()
export class TogetherKinds {
  private readonly kinds = new Map<string, TogetherKind>();

  register(kind: TogetherKind): void {
    this.kinds.set(kind.kind, kind);
  }

  /** @throws Error when no feature has registered it */
  of(name: string): TogetherKind {
    const found = this.kinds.get(name);
    if (!found) throw new Error(`nothing takes tables of ${name}`);
    return found;
  }
}
