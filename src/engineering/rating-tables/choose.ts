import type { RatingRow, RatingTable } from './tables.js';

/** A row of a table by its letter or name, and the value where the row is a range. */
export interface RatingChoice {
  row: string;
  value?: number | null;
}

/** The chosen value, or why there is none and which part of the choice is wrong. */
export type Chosen = { value: number } | { at: 'row' | 'value'; fault: string };

/** Reads a choice from a table: checks that it has the row, and that the value lies within the row. */
export const chosen = ({ id, rows }: RatingTable, { row, value }: RatingChoice): Chosen => {
  const found = rows.find((candidate) => candidate.row === row);
  if (found?.min === undefined || found.max === undefined)
    return { at: 'row', fault: `${id} has no row ${row}: its rows are ${rows.map((r) => r.row).join(', ')}` };
  const { min, max } = found;
  if (value == null)
    return min === max
      ? { value: min }
      : { at: 'value', fault: `row ${row} of ${id} runs from ${min} to ${max}: say the value` };
  if (value >= min && value <= max) return { value };
  const is = min === max ? `is ${min}` : `runs from ${min} to ${max}`;
  return { at: 'value', fault: `${id} ${value} does not lie in row ${row}, which ${is}` };
};

/** The band of a measured figure; undefined where the table has none for it. Bands are in order of their bounds; the first may have none. */
export const bandOf = ({ rows }: RatingTable, figure: number): RatingRow | undefined =>
  rows.findLast(({ from = -Infinity, above }) => (above ? figure > from : figure >= from));

/** The rating of a measured figure; undefined where the table has none for it. */
export const ratingOf = (table: RatingTable, figure: number): number | undefined =>
  bandOf(table, figure)?.min;
