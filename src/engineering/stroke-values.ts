import {
  cutterheadPower,
  faceArea,
  fieldPenetrationIndex,
  penetrationRate,
  thrustPerDisc,
  torquePenetrationIndex,
} from './boring.js';
import { requireAboveZero, requireCount, requireZeroOrMore } from './checks.js';
import { specificEnergy } from './specific-energy.js';
import { isRegularAdvance, theoreticalTorque, torqueRatio } from './torque-ratio.js';

/** Means of the machine's readings over one boring; null where there were none. */
export interface MeasuredBoring {
  /** Thrust of all cylinders, ≥ 0. [kN] */
  thrustKn: number | null;
  /** Torque of the head, ≥ 0. [kNm] */
  torqueKnm: number | null;
  /** Rotational speed of the head, ≥ 0. [1/min] */
  rotationRpm: number | null;
  /** Penetration, ≥ 0; 0 when the machine pushed without advancing. [mm/rev] */
  penetrationMmPerRev: number | null;
}

/** A reading is 0 or at least this, in its unit; smaller values are noise and would make quotients unbounded. Project rule. */
export const SMALLEST_READING = 1e-6;

/** The machine's data for the figures; null where the project has not agreed on a value. */
export interface BoringMachine {
  /** Disc cutters on the head, whole, > 0. [-] */
  discCount: number;
  /** Radius of a disc cutter, > 0. [mm] */
  discRadiusMm: number;
  /** Diameter as bored, > 0. [m] */
  boredDiameterM: number;
  /** Part of the thrust lost to friction, ≥ 0; null counts as 0. [kN] */
  frictionKn: number | null;
  /** Torque of the head turning free of the face, ≥ 0. [kNm] */
  idleTorqueKnm: number | null;
  /** Lower bound of the torque ratio of regular advance, ≥ 0. [-] */
  torqueRatioLower: number | null;
  /** Upper bound of the torque ratio of regular advance, > lower. [-] */
  torqueRatioUpper: number | null;
}

/** Values that depend on the readings alone. */
export interface ReadingValues {
  /** Net penetration rate. [m/h] */
  penetrationRateMPerH: number | null;
  /** Power of the turning head. [kW] */
  powerKw: number | null;
  /** Torque penetration index; null at zero penetration. [kNm per mm/rev] */
  torquePenetrationIndex: number | null;
}

/** Values stored with each boring; null where an input is absent or the figure has no meaning. */
export interface BoringValues extends ReadingValues {
  /** Mean thrust of one disc, less friction; null when friction exceeds the thrust. [kN] */
  thrustPerDiscKn: number | null;
  /** Field penetration index, from that thrust; null at zero penetration. [kN/disc per mm/rev] */
  fieldPenetrationIndex: number | null;
  /** Specific energy, from the total thrust; null at zero penetration. [MJ/m³] */
  specificEnergyMjPerM3: number | null;
  /** Theoretical torque, from the total thrust; null at zero penetration. [kNm] */
  theoreticalTorqueKnm: number | null;
  /** Measured over theoretical torque; null when the theoretical torque is 0. [-] */
  torqueRatio: number | null;
  /** Whether the torque ratio lies between the bounds; null when there is no ratio or a bound is absent. */
  regularAdvance: boolean | null;
}

/** Calls the formula when every figure is known, otherwise gives null. */
const whenKnown = <Result>(
  figures: readonly (number | null)[],
  formula: (...known: number[]) => Result,
): Result | null => {
  const known = figures.filter((figure) => figure !== null);
  return known.length === figures.length ? formula(...known) : null;
};

const nullUnlessAboveZero = (figure: number | null): number | null =>
  figure !== null && figure > 0 ? figure : null;

/**
 * Values of one boring that need no machine.
 * @param measured  means of the readings over the boring
 * @throws RangeError when a figure lies outside its range.
 * Source: the functions called; when a value is null: project rule.
 */
export const readingValues = ({
  torqueKnm,
  rotationRpm,
  penetrationMmPerRev,
}: MeasuredBoring): ReadingValues => ({
  penetrationRateMPerH: whenKnown([penetrationMmPerRev, rotationRpm], penetrationRate),
  powerKw: whenKnown([torqueKnm, rotationRpm], cutterheadPower),
  torquePenetrationIndex: whenKnown(
    [torqueKnm, nullUnlessAboveZero(penetrationMmPerRev)],
    torquePenetrationIndex,
  ),
});

const requireSound = (measured: MeasuredBoring, machine: BoringMachine): void => {
  const { discCount, discRadiusMm, boredDiameterM } = machine;
  requireCount({ discCount });
  requireAboveZero({ discRadiusMm, boredDiameterM });
  const { frictionKn, idleTorqueKnm, torqueRatioLower, torqueRatioUpper } = machine;
  const { thrustKn, torqueKnm, rotationRpm, penetrationMmPerRev } = measured;
  const readings = { thrustKn, torqueKnm, rotationRpm, penetrationMmPerRev };
  const optional = { ...readings, frictionKn, idleTorqueKnm, torqueRatioLower, torqueRatioUpper };
  for (const [name, figure] of Object.entries(optional)) requireZeroOrMore({ [name]: figure ?? 0 });
};

const netThrustPerDisc = (thrustKn: number | null, machine: BoringMachine): number | null => {
  const frictionKn = machine.frictionKn ?? 0;
  if (thrustKn === null || frictionKn > thrustKn) return null;
  return thrustPerDisc(thrustKn, frictionKn, machine.discCount);
};

const torqueValues = (
  { thrustKn, torqueKnm }: MeasuredBoring,
  cuttingMmPerRev: number | null,
  machine: BoringMachine,
): Pick<BoringValues, 'theoreticalTorqueKnm' | 'torqueRatio' | 'regularAdvance'> => {
  const { idleTorqueKnm, torqueRatioLower, torqueRatioUpper } = machine;
  const theoretical = whenKnown([thrustKn, cuttingMmPerRev, idleTorqueKnm], (thrust, penetration, idle) =>
    theoreticalTorque(thrust, penetration, { ...machine, idleTorqueKnm: idle }),
  );
  const ratio = whenKnown([torqueKnm, nullUnlessAboveZero(theoretical)], torqueRatio);
  const regularAdvance = whenKnown([ratio, torqueRatioLower, torqueRatioUpper], isRegularAdvance);
  return { theoreticalTorqueKnm: theoretical, torqueRatio: ratio, regularAdvance };
};

/**
 * Values derived from the readings of one boring, as stored with it.
 * An absent reading gives null for every value that needs it. Friction affects only the thrust per disc and
 * FPI: specific energy uses the total thrust, and so does the torque ratio, as in its published method.
 * @param measured  means of the readings over the boring
 * @param machine   discs, bored diameter, friction, idle torque, bounds of regular advance
 * @throws RangeError when a figure lies outside its range.
 * Source: the functions called; when a value is null: project rule.
 */
export const boringValues = (measured: MeasuredBoring, machine: BoringMachine): BoringValues => {
  requireSound(measured, machine);
  const { thrustKn, torqueKnm, penetrationMmPerRev } = measured;
  const cuttingMmPerRev = nullUnlessAboveZero(penetrationMmPerRev);
  const perDisc = netThrustPerDisc(thrustKn, machine);
  const energyInputs = [thrustKn, torqueKnm, cuttingMmPerRev, faceArea(machine.boredDiameterM)];
  return {
    ...readingValues(measured),
    thrustPerDiscKn: perDisc,
    fieldPenetrationIndex: whenKnown([perDisc, cuttingMmPerRev], fieldPenetrationIndex),
    specificEnergyMjPerM3: whenKnown(energyInputs, specificEnergy),
    ...torqueValues(measured, cuttingMmPerRev, machine),
  };
};
