import { faulty, type ProblemError } from '../../../common/api/problem.js';
import { valueAt } from './incomplete.js';
import { numberOf } from './read-borings.js';
import type { ShiftDocument } from './shift-document.model.js';
import type { ShiftRows } from './shift-rows.js';

/** What the database says of two borings next to each other along the drive: that ahead comes first. */
const ORDER = /^stroke (\d+) lies ahead of stroke (\d+)( but was bored before it)?/;

/** The entry of the document that a rule of the database about strokes refused; all strokes where it names none of them. */
const refusedAt = (message: string, { borings }: ShiftRows): string => {
  const [, ahead, behind, isByTime] = ORDER.exec(message) ?? [];
  const first = borings.find(({ strokeNumber }) => String(strokeNumber) === ahead);
  const boring = first ?? borings.findLast(({ strokeNumber }) => String(strokeNumber) === behind);
  if (!boring) return '/strokes';
  return isByTime ? `${boring.pointer}/${first ? 'startedAt' : 'endedAt'}` : numberOf(boring);
};

/** Why the strokes of a document do not go with those of other shifts, at the entry concerned. */
export const outOfOrder = (message: string, document: ShiftDocument, rows: ShiftRows): ProblemError => {
  const pointer = refusedAt(message, rows);
  const value = pointer === '/strokes' ? undefined : valueAt(document, pointer);
  return faulty('unbalanced', [{ in: 'body', pointer, value, detail: message }]);
};
