import { requireZeroOrMore } from './checks.js';

const lookOutRadians = (lookOutDeg: number): number => {
  requireZeroOrMore({ lookOutDeg });
  if (lookOutDeg >= 90) throw new RangeError(`lookOutDeg is ${lookOutDeg}; it must be below 90.`);
  return (lookOutDeg * Math.PI) / 180;
};

/**
 * How far a straight probe hole reaches along the axis of the drive: L · cos θ. [m]
 * @param lengthM     drilled length, ≥ 0 [m]
 * @param lookOutDeg  angle between hole and axis, 0 ≤ θ < 90 [°]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. A real hole bends; a surveyed hole is worth more.
 */
export const axialReach = (lengthM: number, lookOutDeg: number): number => {
  requireZeroOrMore({ lengthM });
  return lengthM * Math.cos(lookOutRadians(lookOutDeg));
};

/**
 * How far the end of a straight probe hole lies outside the line of its collar: L · sin θ. [m]
 * @param lengthM     drilled length, ≥ 0 [m]
 * @param lookOutDeg  angle between hole and axis, 0 ≤ θ < 90 [°]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. A real hole bends; a surveyed hole is worth more.
 */
export const radialSpread = (lengthM: number, lookOutDeg: number): number => {
  requireZeroOrMore({ lengthM });
  return lengthM * Math.sin(lookOutRadians(lookOutDeg));
};
