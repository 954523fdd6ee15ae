import { isInstant } from '../../../common/api/rules.js';
import type { DriveFrame } from '../../../common/drive-places.js';
import { drivenMm, parseChainage, toMillimetres } from '../../../engineering/chainage.js';
import { SMALLEST_READING } from '../../../engineering/stroke-values.js';
import { READINGS, type Reading } from './stroke-fields.js';

// Each function reads the text of one cell, or throws a RangeError whose message says what is allowed.

const LARGEST_NUMBER = 2_147_483_647;

export const readNumber = (text: string): number => {
  const number = /^\d{1,10}$/.test(text) ? Number(text) : Infinity;
  if (number <= LARGEST_NUMBER) return number;
  throw new RangeError(`number is "${text}"; it must be a whole number from 0 to ${LARGEST_NUMBER}`);
};

/** Decimals after the third: zeros, or the residue of binary arithmetic written with all digits. */
const PAST_MILLIMETRE = /^(-?[\d+]+\.\d{3})(?:0+|(0{6,}|9{6,})\d*)$/;

/**
 * A position to the millimetre. A value within 10⁻⁹ m of a whole millimetre is read as that millimetre, because spreadsheets write
 * 98.59999999999999 for 98.6. Any other value with more than three decimals is refused, not rounded.
 */
const exactMm = (text: string, parse: (text: string) => number): number => {
  const [, millimetre, rest] = PAST_MILLIMETRE.exec(text) ?? [];
  if (millimetre === undefined) return parse(text);
  const towardsZero = parse(millimetre);
  if (!rest?.startsWith('9')) return towardsZero;
  return towardsZero + (text.startsWith('-') ? -1 : 1);
};

/** Whether a position has non-zero digits beyond the millimetre. */
export const isPastMillimetre = (text: string): boolean => /\.\d{3}\d*[1-9]/.test(text);

/** A position in driven millimetres; must lie within the drive. */
export const readPosition = (text: string, frame: DriveFrame, asChainage: boolean): number => {
  const mm = asChainage
    ? drivenMm(exactMm(text, parseChainage), frame.startMm, frame.direction)
    : exactMm(text, toMillimetres);
  const fault = frame.outside(mm);
  if (fault) throw new RangeError(fault);
  return mm;
};

const DECIMAL = /^-?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

export const readReading = (text: string, field: Reading): number => {
  if (!DECIMAL.test(text)) {
    const comma = text.includes(',') ? ', no decimal comma and no thousands separator' : '';
    throw new RangeError(
      `${field} is "${text}"; it must be a number with a decimal point${comma}, or empty when not measured`,
    );
  }
  const value = Number(text);
  if (value === 0) return 0;
  if (value >= SMALLEST_READING && value <= READINGS[field]) return value;
  throw new RangeError(
    `${field} is ${text}; it must be 0, or from ${SMALLEST_READING} to ${READINGS[field]}`,
  );
};

export const readInstant = (text: string): number => {
  if (isInstant(text)) return Date.parse(text);
  throw new RangeError(`"${text}" is not a moment with its offset, such as 2027-03-01T06:00:00+01:00`);
};
