import { type Fault, faulty, type ProblemError } from '../../../common/api/problem.js';
import { DoubtCode } from '../doubts/doubt.models.js';
import type { OpenItem, OpenItemKind } from '../../outputs/record/open-item.model.js';
import type { ShiftContext } from './shift-context.js';
import type { ShiftDocument } from './shift-document.model.js';
import type { ShiftRows } from './shift-rows.js';

const POINTERS: Record<OpenItemKind, string> = {
  metres_missing: '/strokes',
  minutes_missing: '/activities',
  boring_time_differs: '/activities',
  shift_missing: '',
  probe_hole_without_time: '',
  notice_due: '',
  notice_overdue: '',
  doubt: '',
};

const LOADS: Partial<Record<DoubtCode, string>> = {
  thrust_above_rating: '/thrustKn',
  thrust_too_low: '/thrustKn',
  torque_above_rating: '/torqueKnm',
  torque_too_low: '/torqueKnm',
};

/** The entry and field of the document to which a doubt refers. */
const doubted = (item: OpenItem, rows: ShiftRows, { frame }: ShiftContext): string => {
  const { doubt, record, fromChainage, toChainage, line, strokeNumber } = item;
  const isThere = ({ fromMm }: { fromMm: number }): boolean => frame.chainage(fromMm) === fromChainage;
  if (record === 'support') {
    const place = fromChainage === toChainage ? 'from' : 'to';
    const field = doubt === DoubtCode.quantity_too_high ? 'quantity' : place;
    return `${rows.support[(line ?? 1) - 1]?.pointer ?? '/support'}/${field}`;
  }
  if (record === 'ground') return `${rows.ground.find(isThere)?.pointer ?? '/ground'}/to`;
  const ofStroke = rows.borings.filter((boring) => boring.strokeNumber === strokeNumber);
  const boring = ofStroke.find(isThere) ?? ofStroke.at(-1);
  return `${boring?.pointer ?? '/strokes'}${(doubt && LOADS[doubt]) ?? '/to'}`;
};

/** How a doubt can be confirmed, for its error. */
const howToConfirm = ({ doubt, fromChainage }: OpenItem): string =>
  `; correct it, or confirm it: "confirm": [{"doubt": "${doubt}", "from": "${fromChainage}", "reason": "…"}]`;

/** The value at a pointer, whose steps are names and indices that need no escaping. */
export const valueAt = (document: ShiftDocument, pointer: string): unknown =>
  pointer
    .split('/')
    .slice(1)
    .reduce<unknown>((value, step) => (value as Record<string, unknown> | undefined)?.[step], document);

const inWords = (item: OpenItem): string => (item.doubt ? item.detail + howToConfirm(item) : item.detail);

/** Why a submitted shift cannot be countersigned: doubts that came up after it was submitted. */
export const doubtedSince = (items: OpenItem[], shift: string): ProblemError =>
  faulty(
    'incomplete',
    items.map((item) => ({ in: 'path', pointer: '/shift', value: shift, detail: inWords(item) })),
  );

/** Why a shift cannot be submitted yet: each open item and doubt, at the entry or list concerned. */
export const incomplete = (
  items: OpenItem[],
  document: ShiftDocument,
  rows: ShiftRows,
  context: ShiftContext,
): ProblemError =>
  faulty(
    'incomplete',
    items.map((item): Fault => {
      const stroke = rows.borings.find(({ strokeNumber }) => strokeNumber === item.strokeNumber);
      const pointer = item.doubt
        ? doubted(item, rows, context)
        : stroke
          ? `${stroke.pointer}/from`
          : POINTERS[item.kind];
      return { in: 'body', pointer, value: valueAt(document, pointer), detail: inWords(item) };
    }),
  );
