import { finiteResult, requireAboveZero, requireCount, requireZeroOrMore } from './checks.js';

/**
 * Net penetration rate of the cutterhead: PR = p · n · 60 / 1000. [m/h]
 * @param penetrationMmPerRev  advance of the head per revolution, ≥ 0 [mm/rev]
 * @param rotationRpm          rotational speed of the head, ≥ 0 [1/min]
 * @throws RangeError when an input is negative or not finite.
 * Source: by definition; the rate while boring, regripping excluded.
 */
export const penetrationRate = (penetrationMmPerRev: number, rotationRpm: number): number => {
  requireZeroOrMore({ penetrationMmPerRev, rotationRpm });
  return finiteResult('penetration rate', (penetrationMmPerRev * rotationRpm * 60) / 1000);
};

/**
 * Mean thrust of one disc cutter: Fn = (F − F_friction) / N. [kN]
 * @param totalThrustKn  thrust of all cylinders, ≥ 0 [kN]
 * @param frictionKn     part of it that drags shield, head and back-up, 0 to totalThrustKn [kN]
 * @param discs          disc cutters on the head, whole, > 0; a twin disc counts twice [-]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const thrustPerDisc = (totalThrustKn: number, frictionKn: number, discs: number): number => {
  requireZeroOrMore({ totalThrustKn, frictionKn });
  requireCount({ discs });
  if (frictionKn > totalThrustKn) {
    throw new RangeError(`frictionKn is ${frictionKn}; it must not exceed totalThrustKn, ${totalThrustKn}.`);
  }
  return (totalThrustKn - frictionKn) / discs;
};

/**
 * Mechanical power of the turning cutterhead: P = 2π · n · T / 60. [kW]
 * @param torqueKnm    torque of the head, ≥ 0 [kNm]
 * @param rotationRpm  rotational speed of the head, ≥ 0 [1/min]
 * @throws RangeError when an input is negative or not finite.
 * Source: by definition (torque times angular speed).
 */
export const cutterheadPower = (torqueKnm: number, rotationRpm: number): number => {
  requireZeroOrMore({ torqueKnm, rotationRpm });
  return finiteResult('cutterhead power', (2 * Math.PI * rotationRpm * torqueKnm) / 60);
};

/**
 * Area of the bored face: A = π · D² / 4. [m²]
 * @param boredDiameterM  diameter as bored, > 0 [m]
 * @throws RangeError when the diameter is 0, negative or not finite.
 * Source: by definition.
 */
export const faceArea = (boredDiameterM: number): number => {
  requireAboveZero({ boredDiameterM });
  return finiteResult('face area', (Math.PI * boredDiameterM ** 2) / 4);
};

/**
 * Field penetration index: FPI = Fn / p; the harder the rock, the higher. [kN/disc per mm/rev]
 * @param thrustPerDiscKn      mean thrust of one disc, ≥ 0 [kN]
 * @param penetrationMmPerRev  penetration, > 0 [mm/rev]
 * @throws RangeError when an input is outside its range.
 * Source: doi 10.1007/s40948-023-00603-6 (2023), definition: force of one cutter over penetration.
 */
export const fieldPenetrationIndex = (thrustPerDiscKn: number, penetrationMmPerRev: number): number => {
  requireZeroOrMore({ thrustPerDiscKn });
  requireAboveZero({ penetrationMmPerRev });
  return finiteResult('field penetration index', thrustPerDiscKn / penetrationMmPerRev);
};

/**
 * Torque penetration index: TPI = T / p. [kNm per mm/rev]
 * @param torqueKnm            torque of the head, ≥ 0 [kNm]
 * @param penetrationMmPerRev  penetration, > 0 [mm/rev]
 * @throws RangeError when an input is outside its range.
 * Source: from memory of the tunnelling literature; dimensions checked.
 */
export const torquePenetrationIndex = (torqueKnm: number, penetrationMmPerRev: number): number => {
  requireZeroOrMore({ torqueKnm });
  requireAboveZero({ penetrationMmPerRev });
  return finiteResult('torque penetration index', torqueKnm / penetrationMmPerRev);
};

/** No machine bores a metre per minute in rock: a higher rate is an error of the record. Project rule. [m/h] */
export const IMPOSSIBLE_RATE_M_PER_H = 60;

/**
 * Rate of boring by the clock: v = l / t. [m/h]
 * @param lengthMm  length bored, ≥ 0 [mm]
 * @param boringMs  duration, > 0 [ms]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const boringRate = (lengthMm: number, boringMs: number): number => {
  requireZeroOrMore({ lengthMm });
  requireAboveZero({ boringMs });
  return finiteResult('rate of boring', (lengthMm * 3600) / boringMs);
};
