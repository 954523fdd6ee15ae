import { createHash } from 'node:crypto';
import type { ShiftState } from '../../../generated/prisma/enums.js';
import type { ShiftRows } from './shift-rows.js';

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

/** The content without the pointers: documents with equal content have equal digests, however they are written. */
const canonical = (rows: ShiftRows): string =>
  JSON.stringify(rows, (key, value: unknown) => (key === 'pointer' ? undefined : value));

export const digestOf = (rows: ShiftRows): string => sha256(canonical(rows));

/** The strong entity tag of a shift, from the digest of its content; countersigning changes it. */
export const etagOf = ({ digest, state }: { digest: string; state: ShiftState }): string =>
  `"${(state === 'countersigned' ? sha256(`${digest} ${state}`) : digest).slice(0, 32)}"`;
