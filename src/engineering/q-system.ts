import { finiteResult, requireAboveZero, requireZeroOrMore } from './checks.js';
import { bandOf } from './rating-tables/choose.js';
import type { QEdition } from './rating-tables/tables.js';

/** A lower RQD counts as this. [%] */
export const RQD_FLOOR_PERCENT = 10;

/** Location of the place; crossing tunnels and portals have more joint sets than the rock alone. */
export type QLocation = 'normal' | 'portal' | 'intersection';

const JN_TIMES: Record<QLocation, number> = { normal: 1, portal: 2, intersection: 3 };

/** Added to Jr where the mean spacing of the relevant set is above 3 m. [-] */
const JR_OF_WIDE_SPACING = 1;

export interface QFactors {
  /** 0 to 100. [%] */
  rqdPercent: number;
  jn: number;
  jr: number;
  ja: number;
  jw: number;
  srf: number;
  location: QLocation;
  /** Stated by the geologist, never derived. */
  jrSpacingAbove3M: boolean;
}

export interface QValue {
  q: number;
  /** RQD as used: at least 10. [%] */
  rqdPercent: number;
  rqdRaised: boolean;
  /** Jn and Jr as used. */
  jn: number;
  jr: number;
}

/** Rounding keeps a value on the edge of a class on it: factors have few digits, binary fractions many. */
const DIGITS = 12;

/**
 * Rock mass quality Q = (RQD / Jn) · (Jr / Ja) · (Jw / SRF), to 12 digits. [-]
 * RQD below 10 counts as 10; at a portal 2·Jn and at an intersection 3·Jn count; where the mean spacing
 * of the relevant set is stated to be above 3 m, Jr is raised by 1.
 * @param factors  RQD from 0 to 100 [%], the others above 0 [-]
 * @throws RangeError when a factor is outside its range.
 * Source: Barton, Lien and Lunde 1974, Rock Mechanics 6, 189–236; NGI handbook 2013; transcribed.
 */
export const qValue = ({ rqdPercent, location, jrSpacingAbove3M, ...factors }: QFactors): QValue => {
  requireRqd(rqdPercent);
  const { ja, jw, srf } = factors;
  requireAboveZero({ jn: factors.jn, jr: factors.jr, ja, jw, srf });
  const rqd = Math.max(rqdPercent, RQD_FLOOR_PERCENT);
  const jn = JN_TIMES[location] * factors.jn;
  const jr = factors.jr + (jrSpacingAbove3M ? JR_OF_WIDE_SPACING : 0);
  const q = finiteResult('Q', (rqd * jr * jw) / (jn * ja * srf));
  return {
    q: Number(q.toPrecision(DIGITS)),
    rqdPercent: rqd,
    rqdRaised: rqdPercent < RQD_FLOOR_PERCENT,
    jn,
    jr,
  };
};

/** @throws RangeError unless it is from 0 to 100 [%] */
export const requireRqd = (rqdPercent: number): void => {
  requireZeroOrMore({ rqdPercent });
  if (rqdPercent > 100) throw new RangeError(`rqdPercent is ${rqdPercent}; it must be 100 or less.`);
};

/**
 * Name of the class of a Q; the lower bound is in the class.
 * @param q        rock mass quality, > 0 [-]
 * @param edition  that defines the classes
 * @throws RangeError when Q is not above 0.
 */
export const qClass = (q: number, { tables }: Pick<QEdition, 'tables'>): string => {
  requireAboveZero({ q });
  return bandOf(tables.classes, q)?.row ?? '';
};

/**
 * Equivalent dimension De = span / ESR. [m]
 * @param spanM  span or height of the excavation, > 0 [m]
 * @param esr    excavation support ratio, > 0 [-]
 * @throws RangeError when an input is not above 0.
 * Source: Barton, Lien and Lunde 1974; transcribed.
 */
export const equivalentDimension = (spanM: number, esr: number): number => {
  requireAboveZero({ spanM, esr });
  return finiteResult('equivalent dimension', spanM / esr);
};

/**
 * Length of bolts in the crown, L = 2 + 0.15 · B / ESR. [m]
 * @param spanM  span B, > 0 [m]
 * @param esr    excavation support ratio, > 0 [-]
 * @throws RangeError when an input is not above 0.
 * Source: Barton, Lien and Lunde 1974; transcribed.
 */
export const boltLength = (spanM: number, esr: number): number => 2 + 0.15 * equivalentDimension(spanM, esr);

/**
 * Length of bolts in a wall, L = 2 + 0.15 · H / ESR. [m]
 * @param wallHeightM  height of the wall H, > 0 [m]
 * @param esr          excavation support ratio, > 0 [-]
 * @throws RangeError when an input is not above 0.
 * Source: NGI handbook; memory.
 */
export const wallBoltLength = (wallHeightM: number, esr: number): number => {
  requireAboveZero({ wallHeightM, esr });
  return 2 + 0.15 * finiteResult('equivalent dimension', wallHeightM / esr);
};

/**
 * Largest span without support, 2 · ESR · Q^0.4. At that span itself support is required. [m]
 * @param q    rock mass quality, > 0 [-]
 * @param esr  excavation support ratio, > 0 [-]
 * @throws RangeError when an input is not above 0.
 * Source: Barton, Lien and Lunde 1974; transcribed.
 */
export const maximumUnsupportedSpan = (q: number, esr: number): number => {
  requireAboveZero({ q, esr });
  return finiteResult('maximum unsupported span', 2 * esr * q ** 0.4);
};

/**
 * Q that counts for temporary support, 5Q. [-]
 * @param q  rock mass quality of the place, > 0 [-]
 * @throws RangeError when Q is not above 0.
 * Source: NGI handbook; memory.
 */
export const temporaryQ = (q: number): number => {
  requireAboveZero({ q });
  return finiteResult('temporary Q', 5 * q);
};

/**
 * ESR that counts for temporary support, 1.5 · ESR. [-]
 * @param esr  excavation support ratio of the permanent use, > 0 [-]
 * @throws RangeError when it is not above 0.
 * Source: NGI handbook; memory.
 */
export const temporaryEsr = (esr: number): number => {
  requireAboveZero({ esr });
  return Number(finiteResult('temporary ESR', 1.5 * esr).toPrecision(DIGITS));
};

/**
 * Q that counts for walls: 5Q above 10; 2.5Q above 0.1 to 10; Q at 0.1 and below. [-]
 * @param q  rock mass quality of the place, > 0 [-]
 * @throws RangeError when Q is not above 0.
 * Source: NGI handbook; memory.
 */
export const wallQ = (q: number): number => {
  requireAboveZero({ q });
  if (q > 10) return finiteResult('wall Q', 5 * q);
  return q > 0.1 ? 2.5 * q : q;
};
