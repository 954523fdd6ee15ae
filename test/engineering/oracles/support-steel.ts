import { finiteResult, requireAboveZero, requireZeroOrMore } from '../../../src/engineering/checks.js';

/**
 * Area of mesh with its laps: A · (1 + lap). [m²]
 * @param netAreaM2   area that the mesh covers, ≥ 0 [m²]
 * @param lapPercent  area in the laps, over the area covered, ≥ 0 [%]
 * @throws RangeError when an input is negative or not finite.
 * Source: by definition.
 */
export const meshGrossArea = (netAreaM2: number, lapPercent: number): number => {
  requireZeroOrMore({ netAreaM2, lapPercent });
  return finiteResult('gross area of mesh', netAreaM2 * (1 + lapPercent / 100));
};

/**
 * Mass of mesh with its laps: A · (1 + lap) · m. [kg]
 * @param netAreaM2    area that the mesh covers, ≥ 0 [m²]
 * @param lapPercent   area in the laps, over the area covered, ≥ 0 [%]
 * @param massKgPerM2  mass of the mesh by area, > 0 [kg/m²]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const meshMass = (netAreaM2: number, lapPercent: number, massKgPerM2: number): number => {
  requireAboveZero({ massKgPerM2 });
  return finiteResult('mass of mesh', meshGrossArea(netAreaM2, lapPercent) * massKgPerM2);
};

/**
 * Developed length of a rib that is a full ring: π · D. [m]
 * @param centreLineDiameterM  diameter of the line through the centre of the profile, > 0 [m]
 * @throws RangeError when the diameter is not above 0.
 * Source: by definition.
 */
export const ringLength = (centreLineDiameterM: number): number => {
  requireAboveZero({ centreLineDiameterM });
  return finiteResult('ring length', Math.PI * centreLineDiameterM);
};

/**
 * Mass of a rib: m · l. [kg]
 * @param massKgPerM  mass of the profile by length, > 0 [kg/m]
 * @param lengthM     developed length of the piece or ring, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition; overlaps of sliding profiles, clamps and base plates are not in it.
 */
export const ribMass = (massKgPerM: number, lengthM: number): number => {
  requireAboveZero({ massKgPerM, lengthM });
  return finiteResult('mass of a rib', massKgPerM * lengthM);
};

/**
 * Mass of ribs per metre of the drive: mass of one / spacing. [kg/m]
 * @param ribMassKg  mass of a rib, > 0 [kg]
 * @param spacingM   distance from one to the next along the drive, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const ribMassPerMetre = (ribMassKg: number, spacingM: number): number => {
  requireAboveZero({ ribMassKg, spacingM });
  return finiteResult('mass of ribs per metre', ribMassKg / spacingM);
};
