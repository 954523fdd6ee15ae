import {
  finiteResult,
  requireAboveZero,
  requireCount,
  requireZeroOrMore,
} from '../../../src/engineering/checks.js';

/**
 * Bolts per area of a pattern: 1 / (s_circ · s_long). [1/m²]
 * @param circumferentialSpacingM  distance of the bolts of a row, > 0 [m]
 * @param longitudinalSpacingM     distance of the rows along the drive, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const boltsPerSquareMetre = (
  circumferentialSpacingM: number,
  longitudinalSpacingM: number,
): number => {
  requireAboveZero({ circumferentialSpacingM, longitudinalSpacingM });
  return finiteResult('bolts per m²', 1 / (circumferentialSpacingM * longitudinalSpacingM));
};

/**
 * Bolts per metre of the drive of a pattern on an arc: l / (s_circ · s_long). [1/m]
 * @param arcLengthM               length of the arc, ≥ 0 [m]
 * @param circumferentialSpacingM  distance of the bolts of a row, > 0 [m]
 * @param longitudinalSpacingM     distance of the rows along the drive, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition; a mean, ends of rows left out.
 */
export const boltsPerMetre = (
  arcLengthM: number,
  circumferentialSpacingM: number,
  longitudinalSpacingM: number,
): number => {
  requireZeroOrMore({ arcLengthM });
  return finiteResult(
    'bolts per m',
    arcLengthM * boltsPerSquareMetre(circumferentialSpacingM, longitudinalSpacingM),
  );
};

/**
 * Number of bolts at a spacing on a length, with one at each end: ⌊l / s⌋ + 1; bolts of a row on an open arc, or rows on an
 * interval. Lengths count in whole millimetres, so that 0.3 m at 0.1 m is four.
 * @param lengthM   length, ≥ 0 [m]
 * @param spacingM  distance from one to the next, ≥ 0.001 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. A whole ring has one fewer: its last bolt would coincide with its first.
 */
export const numberAtSpacing = (lengthM: number, spacingM: number): number => {
  requireZeroOrMore({ lengthM });
  requireAboveZero({ spacingM });
  const spacingMm = Math.round(spacingM * 1000);
  if (spacingMm < 1) throw new RangeError(`spacingM is ${spacingM}; it must be at least 0.001.`);
  return Math.floor(Math.round(lengthM * 1000) / spacingMm) + 1;
};

/**
 * Number of bolts in rows that alternate between two numbers, as staggered rows do; equal numbers: uniform rows.
 * @param rowCount  rows, the first one with the first number, a whole number > 0
 * @param first     bolts in the first, third, … row, a whole number > 0
 * @param second    bolts in the second, fourth, … row, a whole number > 0
 * @throws RangeError when an input is not a whole number above 0.
 * Source: by definition.
 */
export const numberInRows = (rowCount: number, first: number, second: number): number => {
  requireCount({ rowCount, first, second });
  return Math.ceil(rowCount / 2) * first + Math.floor(rowCount / 2) * second;
};

/**
 * Total length of bolts, spiles or segments: n · l. [m]
 * @param number   how many, ≥ 0
 * @param lengthM  length of one, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const totalLength = (number: number, lengthM: number): number => {
  requireZeroOrMore({ number });
  requireAboveZero({ lengthM });
  return finiteResult('total length', number * lengthM);
};
