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
 * Source: by definition. A real hole bends; a surveyed hole is better evidence.
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
 * Source: by definition. A real hole bends; a surveyed hole is better evidence.
 */
export const radialSpread = (lengthM: number, lookOutDeg: number): number => {
  requireZeroOrMore({ lengthM });
  return lengthM * Math.sin(lookOutRadians(lookOutDeg));
};

const RADIANS = Math.PI / 180;

export interface SectionPoint {
  /** to the right of the axis, seen in the direction of the drive [m] */
  rightM: number;
  /** above the axis [m] */
  upM: number;
}

export interface HoleDirection {
  /** clock position of the collar, clockwise from the crown seen in the direction of the drive [°] */
  positionDeg: number;
  /** angle between hole and axis, 0 ≤ θ < 90 [°] */
  lookOutDeg: number;
  /** direction in the plane of the section in which the hole looks out; by default radial, at its clock position [°] */
  azimuthDeg?: number;
}

/**
 * Where a straight probe hole pierces the section at a distance ahead of its collar.
 * @param collarRadiusM  distance of the collar from the axis, ≥ 0 [m]
 * @param hole           its direction
 * @param aheadM         axial distance from the collar to the section, ≥ 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. The spread at the section, aheadM · tan θ, is added to the collar in the direction of the azimuth.
 */
export const sectionPoint = (
  collarRadiusM: number,
  { positionDeg, lookOutDeg, azimuthDeg = positionDeg }: HoleDirection,
  aheadM: number,
): SectionPoint => {
  requireZeroOrMore({ collarRadiusM, aheadM });
  const spreadM = aheadM * Math.tan(lookOutRadians(lookOutDeg));
  const [collar, azimuth] = [positionDeg * RADIANS, azimuthDeg * RADIANS];
  return {
    rightM: collarRadiusM * Math.sin(collar) + spreadM * Math.sin(azimuth),
    upM: collarRadiusM * Math.cos(collar) + spreadM * Math.cos(azimuth),
  };
};
