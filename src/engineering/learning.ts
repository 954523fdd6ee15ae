import { finiteResult, requireAboveZero, requireCount, requireFinite } from './checks.js';

/**
 * Exponent of the learning curve: b = log2(rate). [-]
 * @param learningRate  time of a unit over that of the unit of half its number, 0 < rate ≤ 1 [-]
 * @throws RangeError when the rate is outside its range.
 * Source: Wright 1936, J. Aeronaut. Sci. 3, 122–128; from memory.
 */
export const learningExponent = (learningRate: number): number => {
  requireAboveZero({ learningRate });
  if (learningRate > 1) throw new RangeError(`learningRate is ${learningRate}; it must be 1 or less.`);
  return Math.log2(learningRate);
};

/**
 * Time of the n-th unit of a work that is learned, such as a ring, a stroke or 100 m of a drive: t_n = t_1 · n^b. [as t_1]
 * @param firstTime  time of the first unit, > 0 [any unit of time]
 * @param unit       number of the unit, 1 for the first [-]
 * @param exponent   from `learningExponent`, ≤ 0 [-]
 * @throws RangeError when an input is outside its range.
 * Source: Wright 1936, J. Aeronaut. Sci. 3, 122–128; from memory. Units of like work: ground that changes hides it.
 */
export const learnedTime = (firstTime: number, unit: number, exponent: number): number => {
  requireAboveZero({ firstTime });
  requireCount({ unit });
  requireFinite({ exponent });
  if (exponent > 0) throw new RangeError(`exponent is ${exponent}; it must be 0 or less.`);
  return finiteResult('learned time', firstTime * unit ** exponent);
};
