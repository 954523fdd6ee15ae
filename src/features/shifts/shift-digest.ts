import { createHash } from 'node:crypto';
import type { ShiftRows } from './shift-rows.js';

/** The content without the pointers: two documents that say the same have one digest, however they are written. */
const canonical = (rows: ShiftRows): string =>
  JSON.stringify(rows, (key, value: unknown) => (key === 'pointer' ? undefined : value));

export const digestOf = (rows: ShiftRows): string =>
  createHash('sha256').update(canonical(rows)).digest('hex');

/** The strong entity tag of a shift, from the digest of its content. */
export const etagOf = (digest: string): string => `"${digest.slice(0, 32)}"`;
