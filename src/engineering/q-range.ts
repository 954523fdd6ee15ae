import { type QFactors, qValue, type QValue } from './q-system.js';
import { Q_TABLES, type QTable } from './rating-tables/tables.js';

type End = 'Min' | 'Max';

/** The lowest and highest effective value of each input; one that is absent has its typical value at both ends. */
export type QEnds = Partial<Record<`${QTable}${End}` | `rqd${End}Percent`, number>>;

/** Effective inputs of Q. */
export interface QCounted {
  rqdPercent: number;
  jn: number;
  jr: number;
  ja: number;
  jw: number;
  srf: number;
}

export interface QEndValue {
  q: number;
  of: QCounted;
}

/** The end of each input that makes Q lowest; the other end makes it highest. */
const LEAST: Record<QTable, End> = { jn: 'Max', jr: 'Min', ja: 'Max', jw: 'Min', srf: 'Max' };
const other = (end: End): End => (end === 'Min' ? 'Max' : 'Min');

const endValue = (typical: QFactors, ends: QEnds, isLeast: boolean): QEndValue => {
  const rqdPercent = ends[isLeast ? 'rqdMinPercent' : 'rqdMaxPercent'] ?? typical.rqdPercent;
  const factors = { ...typical, rqdPercent };
  for (const table of Q_TABLES) {
    const end = isLeast ? LEAST[table] : other(LEAST[table]);
    factors[table] = ends[`${table}${end}`] ?? typical[table];
  }
  const { q, ...counted }: QValue = qValue(factors);
  const { ja, jw, srf } = factors;
  return { q, of: { rqdPercent: counted.rqdPercent, jn: counted.jn, jr: counted.jr, ja, jw, srf } };
};

/**
 * Range of Q: its lowest value by the unfavourable ends of all inputs together (least RQD, Jr and Jw, greatest Jn, Ja and
 * SRF), its highest by the favourable ones. [-]
 * @param typical  the inputs whose Q is that of the log
 * @param ends     least and greatest of each, around the typical one
 * @throws RangeError when an input is outside its range.
 * Source: NGI handbook, its sheet for statistics (memory); combining all ends gives the widest range (project rule).
 */
export const qRange = (typical: QFactors, ends: QEnds): { lowest: QEndValue; highest: QEndValue } => ({
  lowest: endValue(typical, ends, true),
  highest: endValue(typical, ends, false),
});
