import { offsetAt, offsetText } from './offset.js';
import { metresText } from '../engineering/chainage.js';

/** A moment in readable form by the clock of a zone (IANA), for errors. */
export const moment = (ms: number, timeZone = 'UTC'): string => {
  const minutes = offsetAt(timeZone)?.(ms) ?? 0;
  const local = new Date(ms + minutes * 60_000).toISOString().replace('.000Z', 'Z');
  return timeZone === 'UTC' ? local : local.replace('Z', offsetText(minutes));
};

export const minutes = (ms: number): string => `${Number((ms / 60_000).toFixed(3))} minutes`;

/** The name of an enum value, in words. */
export const wordsOf = (value: string | null | undefined): string =>
  (value ?? '').replaceAll('_', ' ').replace(/\b(pre|post) grouting/, '$1-grouting');

/** m² and m³ with superscripts. */
export const unitInWords = (unit: string): string => unit.replace('m2', 'm²').replace('m3', 'm³');

export const metres = (mm: number): string => `${metresText(mm)} m`;
