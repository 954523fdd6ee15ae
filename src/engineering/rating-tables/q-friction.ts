import type { RatingRow } from './tables.js';

/** Residual friction angle φr of the rows of Ja; row A, tightly healed, has none. [°] */
const FRICTION_DEG: Readonly<Record<string, readonly [number, number]>> = {
  B: [25, 35],
  C: [25, 30],
  D: [20, 25],
  E: [8, 16],
  F: [25, 30],
  G: [16, 24],
  H: [12, 16],
  J: [6, 12],
  K: [16, 24],
  L: [12, 16],
  M: [6, 12],
};

/** Of thick continuous clay: strongly over-consolidated, medium or low, swelling. */
export const THICK_CLAY_FRICTION_DEG = [
  [12, 16],
  [12, 16],
  [6, 12],
] as const;

/** The rows with their φr. @param more  angles of rows whose letters differ between editions */
export const withFriction = (
  rows: readonly RatingRow[],
  more: Readonly<Record<string, readonly [number, number]>>,
): RatingRow[] =>
  rows.map((row) => {
    const angles = FRICTION_DEG[row.row] ?? more[row.row];
    return angles ? { ...row, frictionMinDeg: angles[0], frictionMaxDeg: angles[1] } : row;
  });
