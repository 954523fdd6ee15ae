import { metres, minutes } from '../../../common/words.js';
import type { ImportContext, Standing } from './read-context.js';
import { impossibleRate } from './impossible-rate.js';
import { closeGaps } from './import-gaps.js';
import { READINGS, type Reading, type StrokeField } from './stroke-fields.js';
import type { ImportRow, PlaceWords, RowFault, StrokeValues } from './import-rows.js';

export interface ImportPlan {
  rows: ImportRow[];
  /** existing borings to remove: the table replaces what was imported before */
  leaving: Standing[];
}

export const whose = ({ shift }: Standing): string => (shift === null ? 'of an import' : `of shift ${shift}`);

const add = (
  { faults }: ImportRow,
  field: RowFault['field'],
  value: unknown,
  detail: string,
  conflict: boolean,
): void => {
  faults.push({ field, value, detail, conflict });
};

const refuseTwice = (rows: ImportRow[]): void => {
  const lines = new Map<number, number>();
  for (const row of rows) {
    if (row.number === null) continue;
    const first = lines.get(row.number);
    if (first === undefined) lines.set(row.number, row.line);
    else
      add(
        row,
        'number',
        row.number,
        `stroke ${row.number} is listed twice, on lines ${first} and ${row.line}`,
        false,
      );
  }
};

const refuseImpossible = (rows: ImportRow[], words: PlaceWords): void => {
  for (const row of rows) {
    const impossible = row.stroke && impossibleRate(row.stroke);
    if (row.stroke && impossible)
      add(
        row,
        'endedAt',
        words.moment(Number(row.stroke.endedAt)),
        `stroke ${row.stroke.number}: ${impossible}`,
        false,
      );
  }
};

interface Difference {
  field: StrokeField;
  stands: string;
  said: string;
}

const inWords = (field: StrokeField, value: number | string | null, words: PlaceWords): string => {
  if (value === null) return 'none';
  return field.endsWith('At') ? words.moment(Number(value)) : String(value);
};

/** Significant digits of a reading in answers, and so in a list that is sent back: a mean over borings has more. */
const DIGITS = 12;

const isSameReading = (a: number | string | null, b: number | string | null): boolean =>
  a === b ||
  (typeof a === 'number' && typeof b === 'number' && a.toPrecision(DIGITS) === b.toPrecision(DIGITS));

/** How an existing boring differs from the table. */
const differences = (stands: StrokeValues, said: StrokeValues, words: PlaceWords): Difference[] => {
  const found: Difference[] = [];
  const places = [
    [words.from, stands.fromMm, said.fromMm],
    [words.to, stands.toMm, said.toMm],
  ] as const;
  for (const [field, a, b] of places)
    if (a !== b) found.push({ field, stands: words.say(field, a), said: words.say(field, b) });
  for (const field of ['startedAt', 'endedAt'] as const) {
    const [a, b] = [stands[field], said[field]];
    if (a !== b) found.push({ field, stands: inWords(field, a, words), said: inWords(field, b, words) });
  }
  for (const field of Object.keys(READINGS) as Reading[]) {
    const [a, b] = [stands[field], said[field]];
    if (!isSameReading(a, b))
      found.push({ field, stands: inWords(field, a, words), said: inWords(field, b, words) });
  }
  return found;
};

/** Compares the rows with existing strokes of the same numbers. @returns numbers of strokes equal to the table's */
const compareByNumber = (
  rows: ImportRow[],
  { standing, several }: ImportContext,
  replace: boolean,
  words: PlaceWords,
): Set<number> => {
  const byNumber = new Map<number, Standing[]>();
  for (const boring of standing)
    byNumber.set(boring.number, [...(byNumber.get(boring.number) ?? []), boring]);
  const unchanged = new Set<number>();
  for (const row of rows) {
    const { stroke } = row;
    const [first, ...more] = (stroke && byNumber.get(stroke.number)) ?? [];
    if (!stroke || !first) continue;
    const differing = differences(several.get(stroke.number) ?? first, stroke, words);
    if (differing.length === 0) {
      row.outcome = 'unchanged';
      unchanged.add(stroke.number);
    } else if (replace && [first, ...more].every(({ shift }) => shift === null)) {
      row.outcome = 'updated';
      row.changes.push(...differing.map(({ field, stands, said }) => ({ field, from: stands, to: said })));
    } else if (more.length > 0)
      add(
        row,
        'number',
        stroke.number,
        `stroke ${stroke.number} exists already, in ${more.length + 1} borings, the first ${whose(first)}`,
        true,
      );
    else
      for (const { field, stands, said } of differing)
        add(
          row,
          field,
          said,
          `stroke ${stroke.number} ${whose(first)} has ${field} ${stands}; the table has ${said}`,
          true,
        );
  }
  return unchanged;
};

/** A stroke on the drive as it would be after the import: from the table, or existing. */
export type Placed =
  | { stroke: StrokeValues; row: ImportRow; standing?: undefined }
  | { stroke: Standing; row?: undefined; standing: Standing };

const named = ({ stroke, row, standing }: Placed, words: PlaceWords): string =>
  `stroke ${stroke.number} ${standing ? whose(standing) : words.row(row)}`;

/** Refuses whichever of two came from the table; the one ahead if both did. */
const refuse = (behind: Placed, ahead: Placed, field: StrokeField, value: unknown, detail: string): void => {
  const row = ahead.row ?? behind.row;
  if (row) add(row, field, value, detail, behind.standing !== undefined || ahead.standing !== undefined);
};

/** Along the drive, no metre may be bored twice, and numbers and times must rise. */
export const assertOrder = (placed: Placed[], words: PlaceWords): void => {
  placed.sort((a, b) => a.stroke.fromMm - b.stroke.fromMm || a.stroke.toMm - b.stroke.toMm);
  let face: Placed | undefined;
  let timed: Placed | undefined;
  for (const next of placed) {
    const { stroke } = next;
    const span = ({ fromMm, toMm }: StrokeValues): string =>
      `${words.say(words.from, fromMm)} to ${words.say(words.to, toMm)}`;
    if (face && face.stroke.toMm > stroke.fromMm) {
      const twiceMm = Math.min(face.stroke.toMm, stroke.toMm) - stroke.fromMm;
      const own = next.row ? next : face;
      const other = next.row ? face : next;
      refuse(
        face,
        next,
        words.from,
        words.say(words.from, own.stroke.fromMm),
        `stroke ${own.stroke.number}, ${span(own.stroke)}, overlaps ${named(other, words)}, ${span(other.stroke)}: ${metres(twiceMm)} twice`,
      );
    } else {
      if (face && face.stroke.number > stroke.number)
        refuse(
          face,
          next,
          'number',
          (next.row ? next : face).stroke.number,
          `${named(next, words)} lies ahead of ${named(face, words)}: stroke numbers must rise along the drive`,
        );
      assertTimeOrder(timed, next, words);
    }
    if (next.row && next.row.faults.length > 0) continue; // it will not be stored, so later rows are not checked against it
    if (!face || stroke.toMm > face.stroke.toMm) face = next;
    if (stroke.endedAt !== null) timed = next;
  }
};

const assertTimeOrder = (behind: Placed | undefined, ahead: Placed, words: PlaceWords): void => {
  const [endedAt, startedAt] = [behind?.stroke.endedAt ?? null, ahead.stroke.startedAt];
  if (!behind || endedAt === null || startedAt === null || startedAt >= endedAt) return;
  const [field, value] = ahead.row ? (['startedAt', startedAt] as const) : (['endedAt', endedAt] as const);
  refuse(
    behind,
    ahead,
    field,
    words.moment(value),
    `${named(ahead, words)} lies ahead of ${named(behind, words)}, but its boring began ${minutes(endedAt - startedAt)} before that one ended`,
  );
};

/** Validates the rows against each other and against existing strokes; a row with faults is rejected. */
export const planImport = (
  rows: ImportRow[],
  context: ImportContext,
  { closeGapsMm, replace }: { closeGapsMm: number; replace: boolean },
  words: PlaceWords,
): ImportPlan => {
  const { standing } = context;
  refuseTwice(rows);
  refuseImpossible(rows, words);
  const stays = replace ? standing.filter(({ shift }) => shift !== null) : standing;
  closeGaps(rows, stays, closeGapsMm, words);
  const unchanged = compareByNumber(rows, context, replace, words);
  const leaving = replace
    ? standing.filter(({ shift, number }) => shift === null && !unchanged.has(number))
    : [];
  const left = new Set(leaving);
  const placed: Placed[] = standing
    .filter((boring) => !left.has(boring))
    .map((boring) => ({ stroke: boring, standing: boring }));
  for (const row of rows)
    if (row.stroke && row.outcome !== 'unchanged' && row.faults.length === 0)
      placed.push({ stroke: row.stroke, row });
  assertOrder(placed, words);
  return { rows, leaving };
};
