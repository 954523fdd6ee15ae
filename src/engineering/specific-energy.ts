import { finiteResult, requireAboveZero, requireZeroOrMore } from './checks.js';

/**
 * Thrust part of the specific energy: F / A. [MJ/m³]
 * @param thrustKn    thrust on the face, ≥ 0 [kN]
 * @param faceAreaM2  area of the bored face, > 0 [m²]
 * @throws RangeError when an input is outside its range.
 * Source: Teale 1965, Int. J. Rock Mech. Min. Sci. 2, 57–73; the formula from memory.
 */
export const specificEnergyOfThrust = (thrustKn: number, faceAreaM2: number): number => {
  requireZeroOrMore({ thrustKn });
  requireAboveZero({ faceAreaM2 });
  return finiteResult('specific energy of thrust', thrustKn / faceAreaM2 / 1000);
};

/**
 * Rotation part of the specific energy: 2π · T / (A · p). [MJ/m³]
 * With T in kNm, A in m² and p in mm/rev the powers of ten cancel.
 * @param torqueKnm            torque of the head, ≥ 0 [kNm]
 * @param penetrationMmPerRev  penetration, > 0 [mm/rev]
 * @param faceAreaM2           area of the bored face, > 0 [m²]
 * @throws RangeError when an input is outside its range.
 * Source: Teale 1965, Int. J. Rock Mech. Min. Sci. 2, 57–73; the formula from memory.
 */
export const specificEnergyOfRotation = (
  torqueKnm: number,
  penetrationMmPerRev: number,
  faceAreaM2: number,
): number => {
  requireZeroOrMore({ torqueKnm });
  requireAboveZero({ penetrationMmPerRev, faceAreaM2 });
  const energy = (2 * Math.PI * torqueKnm) / (faceAreaM2 * penetrationMmPerRev);
  return finiteResult('specific energy of rotation', energy);
};

/**
 * Specific energy, the work per volume of rock bored: thrust part + rotation part. [MJ/m³]
 * Divide by 3.6 for kWh/m³.
 * @param thrustKn             thrust on the face, ≥ 0 [kN]
 * @param torqueKnm            torque of the head, ≥ 0 [kNm]
 * @param penetrationMmPerRev  penetration, > 0 [mm/rev]
 * @param faceAreaM2           area of the bored face, > 0 [m²]
 * @throws RangeError when an input is outside its range.
 * Source: Teale 1965, Int. J. Rock Mech. Min. Sci. 2, 57–73; definition read in the abstract, the formula from memory.
 */
export const specificEnergy = (
  thrustKn: number,
  torqueKnm: number,
  penetrationMmPerRev: number,
  faceAreaM2: number,
): number => {
  const rotationPart = specificEnergyOfRotation(torqueKnm, penetrationMmPerRev, faceAreaM2);
  return finiteResult('specific energy', specificEnergyOfThrust(thrustKn, faceAreaM2) + rotationPart);
};
