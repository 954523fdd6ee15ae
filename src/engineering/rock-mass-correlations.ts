import { finiteResult, requireAboveZero, requireFinite } from './checks.js';

// RMR and Q are separate ratings. For the same rock, converted values differ by tens of points: they serve comparison, never the
// record. All of these use the RMR without orientation (R6 = 0).

/** Scatter of the 1976 data behind RMR = 9 · ln Q + 44, to either side; memory. [points of RMR] */
export const BIENIAWSKI_SPREAD = 18;

/**
 * RMR = 9 · ln Q + 44. [-]
 * @param q  rock mass quality, > 0 [-]
 * @throws RangeError when Q is not above 0.
 * Source: Bieniawski, read in a figure of Palmström 2009.
 */
export const rmrFromQBieniawski = (q: number): number => {
  requireAboveZero({ q });
  return 9 * Math.log(q) + 44;
};

/**
 * RMR = 15 · log10 Q + 50. [-]
 * @param q  rock mass quality, > 0 [-]
 * @throws RangeError when Q is not above 0.
 * Source: Barton 1995; memory.
 */
export const rmrFromQBarton = (q: number): number => {
  requireAboveZero({ q });
  return 15 * Math.log10(q) + 50;
};

/**
 * Q = e^((RMR − 44) / 9), the inverse. [-]
 * @param rmr  Rock Mass Rating [-]
 * @throws RangeError when it is not finite.
 * Source: Bieniawski, as above.
 */
export const qFromRmrBieniawski = (rmr: number): number => {
  requireFinite({ rmr });
  return finiteResult('Q', Math.exp((rmr - 44) / 9));
};

/**
 * Q = 10^((RMR − 50) / 15), the inverse. [-]
 * @param rmr  Rock Mass Rating [-]
 * @throws RangeError when it is not finite.
 * Source: Barton 1995; memory.
 */
export const qFromRmrBarton = (rmr: number): number => {
  requireFinite({ rmr });
  return finiteResult('Q', 10 ** ((rmr - 50) / 15));
};
