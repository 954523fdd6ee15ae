import { faulty } from '../../../common/api/problem.js';
import { metresText, toMillimetres } from '../../../engineering/chainage.js';
import type { Standing } from './read-context.js';
import type { ImportRow, PlaceWords } from './import-rows.js';

/** Largest gap that may be closed: closing a larger one would book metres that nobody bored. Project rule. [mm] */
const LARGEST_GAP_MM = 100;

/** @returns the largest gap to close, 0 for none. [mm] @throws ProblemError invalid outside 0 to 0.100 m */
export const readCloseGaps = (text: string | undefined): number => {
  if (text === undefined) return 0;
  const range = `closeGaps must be from 0 to ${metresText(LARGEST_GAP_MM)} m, with at most three decimals`;
  try {
    const mm = toMillimetres(text);
    if (mm >= 0 && mm <= LARGEST_GAP_MM) return mm;
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
  }
  throw faulty('invalid', [{ in: 'body', pointer: '/closeGaps', value: text, detail: range }]);
};

/**
 * Moves the end of a stroke to the next start ahead of it, in the table or in the record, when the gap is small: tables with
 * positions to the centimetre often end a stroke one centimetre before the next.
 */
export const closeGaps = (
  rows: ImportRow[],
  standing: Standing[],
  largestMm: number,
  words: PlaceWords,
): void => {
  if (largestMm === 0) return;
  const strokes = rows.flatMap(({ stroke }) => stroke ?? []);
  const starts = [...strokes, ...standing].map(({ fromMm }) => fromMm).sort((a, b) => a - b);
  const byEnd = rows.filter(({ stroke }) => stroke !== null);
  byEnd.sort((a, b) => (a.stroke?.toMm ?? 0) - (b.stroke?.toMm ?? 0));
  let next = 0;
  for (const { stroke, notes } of byEnd) {
    if (!stroke) continue;
    while (next < starts.length && (starts[next] ?? 0) < stroke.toMm) next += 1;
    const start = starts[next];
    const gapMm = (start ?? stroke.toMm) - stroke.toMm;
    if (start === undefined || gapMm === 0 || gapMm > largestMm) continue;
    const [from, to] = [words.say(words.to, stroke.toMm), words.say(words.to, start)];
    notes.push(`to ${from} moved to ${to}: ${metresText(gapMm)} m gap closed`);
    stroke.toMm = start;
  }
};
