import { requireZeroOrMore } from './checks.js';
import { requireRqd } from './q-system.js';
import type { RmrRatings } from './rmr.js';

/** With R5 = 15 and R6 = 0 the RMR must be above this. */
const LEAST_RMR = 23;
const DRY_RATING = 15;

/**
 * GSI = RMR89 − 5, assuming dry rock (R5 = 15) and very favourable orientation (R6 = 0). [-]
 * @param ratings  those of the RMR of 1989
 * @returns undefined where that RMR is 23 or less: there the relation does not hold
 * @throws RangeError when a rating is negative.
 * Source: Hoek, Kaiser and Bawden 1995, transcribed.
 */
export const gsiFromRmr89 = ({
  strength,
  rqd,
  spacing,
  condition,
}: Pick<RmrRatings, 'strength' | 'rqd' | 'spacing' | 'condition'>): number | undefined => {
  requireZeroOrMore({ strength, rqd, spacing, condition });
  const dry = strength + rqd + spacing + condition + DRY_RATING;
  return dry > LEAST_RMR ? dry - 5 : undefined;
};

/**
 * GSI = 1.5 · JCond89 + RQD / 2. [-]
 * @param jCond89     rating R4 of the RMR of 1989, 0 to 30 [-]
 * @param rqdPercent  0 to 100 [%]
 * @throws RangeError when an input is outside its range.
 * Source: Hoek, Carter and Diederichs 2013; transcribed.
 */
export const gsiFromJCond89 = (jCond89: number, rqdPercent: number): number => {
  requireZeroOrMore({ jCond89 });
  if (jCond89 > 30) throw new RangeError(`jCond89 is ${jCond89}; it must be 30 or less.`);
  requireRqd(rqdPercent);
  return 1.5 * jCond89 + rqdPercent / 2;
};
