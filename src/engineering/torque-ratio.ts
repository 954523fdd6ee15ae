import { finiteResult, requireAboveZero, requireCount, requireZeroOrMore } from './checks.js';

/** Mean lever arm of the discs as a fraction of the bored diameter: 0.6 of the radius of the head. [-] */
const LEVER_ARM_OVER_DIAMETER = 0.3;

/** Machine data for the theoretical torque. */
export interface TorqueMachine {
  /** Disc cutters on the head, whole, > 0. [-] */
  discCount: number;
  /** Radius of a disc cutter, > 0. [mm] */
  discRadiusMm: number;
  /** Diameter as bored, > 0. [m] */
  boredDiameterM: number;
  /** Torque of the head turning free of the face, ≥ 0. [kNm] */
  idleTorqueKnm: number;
}

/** Angle of the disc in contact with the rock: α = arccos((r − p) / r). [rad] */
const contactAngle = (penetrationMmPerRev: number, discRadiusMm: number): number => {
  requireAboveZero({ penetrationMmPerRev, discRadiusMm });
  if (penetrationMmPerRev >= 2 * discRadiusMm) {
    throw new RangeError(
      `penetrationMmPerRev is ${penetrationMmPerRev}; it must be below the disc's diameter, ${2 * discRadiusMm} mm.`,
    );
  }
  return Math.acos((discRadiusMm - penetrationMmPerRev) / discRadiusMm);
};

/**
 * Torque the head should need at this thrust and penetration. [kNm]
 * Fn = F / N; Ft = Fn · tan(α / 2); T = 0.3 · Ft · N · D + M0. F is the total thrust; the published method deducts
 * no friction.
 * @param totalThrustKn        thrust of all cylinders, ≥ 0 [kN]
 * @param penetrationMmPerRev  penetration, > 0 and below the disc's diameter [mm/rev]
 * @param machine              discs, bored diameter and idle torque
 * @throws RangeError when an input is outside its range.
 * Source: ÖNORM B 2203-2:2023, as published with the open data of Erharter et al., doi 10.1007/s00603-025-04542-4.
 */
export const theoreticalTorque = (
  totalThrustKn: number,
  penetrationMmPerRev: number,
  { discCount, discRadiusMm, boredDiameterM, idleTorqueKnm }: TorqueMachine,
): number => {
  requireZeroOrMore({ totalThrustKn, idleTorqueKnm });
  requireCount({ discCount });
  requireAboveZero({ boredDiameterM });
  const normalKn = totalThrustKn / discCount;
  const rollingKn = normalKn * Math.tan(contactAngle(penetrationMmPerRev, discRadiusMm) / 2);
  const torqueKnm = LEVER_ARM_OVER_DIAMETER * rollingKn * discCount * boredDiameterM + idleTorqueKnm;
  return finiteResult('theoretical torque', torqueKnm);
};

/**
 * Measured torque over theoretical torque. [-]
 * @param torqueKnm             measured torque of the head, ≥ 0 [kNm]
 * @param theoreticalTorqueKnm  torque the head should need, > 0 [kNm]
 * @throws RangeError when an input is outside its range.
 * Source: ÖNORM B 2203-2:2023, as published by Erharter et al., doi 10.1007/s00603-025-04542-4.
 */
export const torqueRatio = (torqueKnm: number, theoreticalTorqueKnm: number): number => {
  requireZeroOrMore({ torqueKnm });
  requireAboveZero({ theoreticalTorqueKnm });
  return finiteResult('torque ratio', torqueKnm / theoreticalTorqueKnm);
};

/**
 * Whether the advance is regular: lower < ratio < upper. On a bound or beyond, it is exceptional.
 * @param ratio  torque ratio, ≥ 0 [-]
 * @param lower  lower bound, calibrated for the machine, ≥ 0 [-]
 * @param upper  upper bound, calibrated for the machine, > lower [-]
 * @throws RangeError when an input is outside its range.
 * Source: ÖNORM B 2203-2:2023, as published by Erharter et al., doi 10.1007/s00603-025-04542-4.
 */
export const isRegularAdvance = (ratio: number, lower: number, upper: number): boolean => {
  requireZeroOrMore({ ratio, lower, upper });
  if (lower >= upper) throw new RangeError(`lower is ${lower}; it must be below upper, ${upper}.`);
  return lower < ratio && ratio < upper;
};
