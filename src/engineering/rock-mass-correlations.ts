import { finiteResult, requireAboveZero, requireFinite } from './checks.js';

// RMR and Q are two ratings. For one rock they differ by tens of points: these are for comparison, never for the record.
// The RMR of all of them is that without orientation (R6 = 0).

/** Spread of the data behind RMR = 9 · ln Q + 44, to either side, of 1976; memory. [points of RMR] */
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
 * Q = e^((RMR − 44) / 9), the same line turned round. [-]
 * @param rmr  Rock Mass Rating [-]
 * @throws RangeError when it is not finite.
 * Source: Bieniawski, as above.
 */
export const qFromRmrBieniawski = (rmr: number): number => {
  requireFinite({ rmr });
  return finiteResult('Q', Math.exp((rmr - 44) / 9));
};

/**
 * Q = 10^((RMR − 50) / 15), the same line turned round. [-]
 * @param rmr  Rock Mass Rating [-]
 * @throws RangeError when it is not finite.
 * Source: Barton 1995; memory.
 */
export const qFromRmrBarton = (rmr: number): number => {
  requireFinite({ rmr });
  return finiteResult('Q', 10 ** ((rmr - 50) / 15));
};
