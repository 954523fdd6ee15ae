import { finiteResult, requireAboveZero, requireFinite } from '../../../src/engineering/checks.js';

/**
 * Arc from one place on the ring to another, clockwise. [°]
 * @param fromDeg  where it begins, clockwise from the crown, 0 to 360 [°]
 * @param toDeg    where it ends, 0 to 360 [°]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. From 0 to 360 is the whole ring; from a place to the same place is 0.
 */
export const arcDegrees = (fromDeg: number, toDeg: number): number => {
  requireOnRing({ fromDeg, toDeg });
  return toDeg - fromDeg + (toDeg < fromDeg ? 360 : 0);
};

const requireOnRing = (figures: Readonly<Record<string, number>>): void => {
  requireFinite(figures);
  for (const [name, figure] of Object.entries(figures))
    if (figure < 0 || figure > 360) throw new RangeError(`${name} is ${figure}; it must be from 0 to 360.`);
};

/**
 * Length of an arc: π · r · α / 180. [m]
 * @param arcDeg   the arc, 0 to 360 [°]
 * @param radiusM  radius on which it lies: as bored, where no other is stated, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const arcLength = (arcDeg: number, radiusM: number): number => {
  requireOnRing({ arcDeg });
  requireAboveZero({ radiusM });
  return finiteResult('arc length', (Math.PI * radiusM * arcDeg) / 180);
};
