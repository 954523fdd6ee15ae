import { metresText } from '../engineering/chainage.js';

/** A moment as people read it in an error. */
export const moment = (ms: number): string => new Date(ms).toISOString().replace('.000Z', 'Z');

export const minutes = (ms: number): string => `${Number((ms / 60_000).toFixed(3))} minutes`;

export const metres = (mm: number): string => `${metresText(mm)} m`;
