import { jobIn } from '../../work/job.js';
import { ProblemError } from '../problem.js';
import { columnsOf, isNumber, valueAt } from './csv-columns.js';
import type { Cell, Sheet } from './draw-workbook.js';
import type { Entries } from './forms.js';
import type { ListOf } from './list-of.js';

/** Most entries of a workbook: it is held in memory until it is complete. */
export const MOST_ROWS = 20_000;

/** Longest text of a cell in spreadsheets, which call a file with more corrupt. [characters] */
const MOST_TEXT = 32_767;

export const WORKBOOK = jobIn<Sheet, Uint8Array>(import.meta.url, 'draw-workbook', 'drawWorkbook');

const refused = (why: string): ProblemError =>
  new ProblemError('invalid', `${why}: ask for CSV (format=csv), or for a part of the list`);

/** The value in its cell, as `cellOf` has it in CSV. Text in a cell is never run as a formula. */
const cellOf = (value: unknown, isText: boolean): Cell => {
  if (value == null) return null;
  if (typeof value === 'number') return value;
  const text = typeof value === 'object' ? JSON.stringify(value) : String(value as string | boolean);
  if (text.length > MOST_TEXT)
    throw refused(
      `A cell of this list has ${text.length} characters, and one of a workbook at most ${MOST_TEXT}`,
    );
  return !isText && isNumber(text) ? { number: text } : text;
};

/** A sheet with the columns of a list's CSV, and how it is filled. */
export const sheetOf = (
  name: string,
  { entry, head = [] }: ListOf,
): {
  sheet: Sheet;
  /** @throws ProblemError invalid for more than a workbook holds */
  add(some: Entries): void;
} => {
  const columns = columnsOf(entry);
  const rows: Cell[][] = [];
  return {
    sheet: { name, headings: [...columns.map(({ heading }) => heading), ...head], rows },
    add: ({ entries, head: beside }) => {
      if (rows.length + entries.length > MOST_ROWS)
        throw refused(`This list has more than ${MOST_ROWS} entries, the most that a workbook holds`);
      const last = head.map((property) => cellOf(beside[property], false));
      for (const one of entries)
        rows.push([...columns.map(({ path, isText }) => cellOf(valueAt(one, path), isText)), ...last]);
    },
  };
};
