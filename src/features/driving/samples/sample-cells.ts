import { isInstant } from '../../../common/api/rules.js';
import { shown } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { drivenMm, POSITION_LIMIT_MM } from '../../../engineering/chainage.js';
import { SAMPLE_READINGS, type SampleReading } from './sample-fields.js';

// Each function reads the text of one field, or throws a RangeError whose message says what is allowed.

const said = (value: unknown): string =>
  typeof value === 'string' ? `"${String(shown(value))}"` : String(shown(value));

/** Samples are stored for the years 2000 to 2099, both as written and in UTC, because each month with samples has its own table. */
const FIRST_MS = Date.UTC(2000, 0);
const BEYOND_MS = Date.UTC(2100, 0);

/** [ms] */
export const readMoment = (text: string): number => {
  if (isInstant(text)) {
    const ms = Date.parse(text);
    if (text.startsWith('20') && ms >= FIRST_MS && ms < BEYOND_MS) return ms;
  }
  throw new RangeError(
    `at is ${said(text)}; it must be a moment with its offset, such as 2027-03-01T06:00:00+01:00, of the years 2000 to 2099`,
  );
};

const DECIMAL = /^-?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;
const KILOMETRES_AND_METRES = /^(-?)(\d+)\+(\d{3}(?:\.\d+)?)$/;

/** To the nearest millimetre: instruments give more digits than a position has. [mm] */
const toMm = (field: string, text: string): number => {
  const long = KILOMETRES_AND_METRES.exec(text);
  if (field === 'chainage' && long) {
    const mm = Number(long[2]) * 1_000_000 + Math.round(Number(long[3]) * 1000);
    return long[1] === '-' ? -mm : mm;
  }
  if (DECIMAL.test(text)) return Math.round(Number(text) * 1000);
  const such = field === 'chainage' ? 'a chainage such as 12+345.678, or metres' : 'driven metres';
  throw new RangeError(`${field} is ${said(text)}; it must be ${such}, with a decimal point`);
};

/** Driven millimetres; must lie within the drive. */
export const readPlace = (field: 'chainage' | 'positionM', text: string, frame: DriveFrame): number => {
  const mm = toMm(field, text);
  if (Math.abs(mm) > POSITION_LIMIT_MM)
    throw new RangeError(`${field} is ${said(text)}; no drive reaches there`);
  const driven = field === 'chainage' ? drivenMm(mm, frame.startMm, frame.direction) : mm;
  const fault = frame.outside(driven);
  if (fault) throw new RangeError(`${field} is ${said(text)}; ${fault}`);
  return driven + 0; // turns −0 into 0
};

/** A reading; null: not measured. */
export const readSampleReading = (
  field: SampleReading,
  given: string | number | null,
  factor = 1,
): number | null => {
  if (given === null || given === '') return null;
  if (typeof given === 'string' && !DECIMAL.test(given)) {
    const comma = given.includes(',') ? ', no decimal comma and no thousands separator' : '';
    throw new RangeError(
      `${field} is ${said(given)}; it must be a number with a decimal point${comma}, or empty when not measured`,
    );
  }
  const value = Number(given) * factor;
  if (value >= 0 && value <= SAMPLE_READINGS[field]) return value + 0;
  const scaled = factor === 1 ? '' : ` × ${factor}`;
  throw new RangeError(`${field} is ${given}${scaled}; it must be from 0 to ${SAMPLE_READINGS[field]}`);
};
