import { metresText } from '../engineering/chainage.js';

/** A moment as people read it in an error. */
export const moment = (ms: number): string => new Date(ms).toISOString().replace('.000Z', 'Z');

export const minutes = (ms: number): string => `${Number((ms / 60_000).toFixed(3))} minutes`;

/** A name of a set of values as words. */
export const wordsOf = (value: string | null | undefined): string =>
  (value ?? '').replaceAll('_', ' ').replace(/\b(pre|post) grouting/, '$1-grouting');

/** m² and m³ as people write them. */
export const unitInWords = (unit: string): string => unit.replace('m2', 'm²').replace('m3', 'm³');

export const metres = (mm: number): string => `${metresText(mm)} m`;
