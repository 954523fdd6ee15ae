import { finiteResult, requireAboveZero, requireZeroOrMore } from '../../../src/engineering/checks.js';

/** What a volume in place becomes when it is broken: 1 + swell. [-] */
const bulking = (swellPercent: number): number => {
  requireZeroOrMore({ swellPercent });
  return 1 + swellPercent / 100;
};

/**
 * Volume of broken rock: V_loose = V · (1 + s). [m³]
 * @param bankVolumeM3  volume in place, before it is bored, ≥ 0 [m³]
 * @param swellPercent  growth of the volume by breaking, ≥ 0 [%]
 * @throws RangeError when an input is negative or not finite.
 * Source: by definition.
 */
export const looseVolume = (bankVolumeM3: number, swellPercent: number): number => {
  requireZeroOrMore({ bankVolumeM3 });
  return finiteResult('loose volume', bankVolumeM3 * bulking(swellPercent));
};

/**
 * Load factor, volume in place over volume of broken rock: 1 / (1 + s). [-]
 * @param swellPercent  growth of the volume by breaking, ≥ 0 [%]
 * @throws RangeError when the swell is negative or not finite.
 * Source: by definition.
 */
export const loadFactor = (swellPercent: number): number => 1 / bulking(swellPercent);

/**
 * Density of broken rock: ρ_loose = ρ / (1 + s). [t/m³]
 * @param densityTPerM3  density in place, > 0 [t/m³]
 * @param swellPercent   growth of the volume by breaking, ≥ 0 [%]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const looseDensity = (densityTPerM3: number, swellPercent: number): number => {
  requireAboveZero({ densityTPerM3 });
  return densityTPerM3 * loadFactor(swellPercent);
};

/**
 * Mass that the head brings to the belt while it bores: Q = A · PR · ρ. [t/h]
 * @param faceAreaM2            area of the bored face, > 0 [m²]
 * @param penetrationRateMPerH  net penetration rate, ≥ 0 [m/h]
 * @param densityTPerM3         density in place, > 0 [t/m³]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const beltMassFlow = (
  faceAreaM2: number,
  penetrationRateMPerH: number,
  densityTPerM3: number,
): number => {
  requireAboveZero({ faceAreaM2, densityTPerM3 });
  requireZeroOrMore({ penetrationRateMPerH });
  return finiteResult('belt mass flow', faceAreaM2 * penetrationRateMPerH * densityTPerM3);
};

/**
 * Volume of broken rock that the head brings to the belt while it bores: A · PR · (1 + s). [m³/h]
 * @param faceAreaM2            area of the bored face, > 0 [m²]
 * @param penetrationRateMPerH  net penetration rate, ≥ 0 [m/h]
 * @param swellPercent          growth of the volume by breaking, ≥ 0 [%]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const looseVolumeFlow = (
  faceAreaM2: number,
  penetrationRateMPerH: number,
  swellPercent: number,
): number => {
  requireAboveZero({ faceAreaM2 });
  requireZeroOrMore({ penetrationRateMPerH });
  return finiteResult('loose volume flow', faceAreaM2 * penetrationRateMPerH * bulking(swellPercent));
};

/**
 * Mass that a belt carries away: 3600 · a · v · ρ_loose. [t/h]
 * @param loadedAreaM2        cross-section of the muck on the belt, > 0 [m²]
 * @param beltSpeedMPerS      speed of the belt, ≥ 0 [m/s]
 * @param looseDensityTPerM3  density of the broken rock, > 0 [t/m³]
 * @throws RangeError when an input is outside its range.
 * Source: by definition; inclination and surcharge of the belt are in the cross-section.
 */
export const beltCapacity = (
  loadedAreaM2: number,
  beltSpeedMPerS: number,
  looseDensityTPerM3: number,
): number => {
  requireAboveZero({ loadedAreaM2, looseDensityTPerM3 });
  requireZeroOrMore({ beltSpeedMPerS });
  return finiteResult('belt capacity', 3600 * loadedAreaM2 * beltSpeedMPerS * looseDensityTPerM3);
};

/**
 * Part of the belt's capacity that is used: Q / capacity; above 1 the belt limits the boring. [-]
 * @param massFlowTPerH      mass that comes, ≥ 0 [t/h]
 * @param beltCapacityTPerH  mass that the belt carries, > 0 [t/h]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const beltLoad = (massFlowTPerH: number, beltCapacityTPerH: number): number => {
  requireZeroOrMore({ massFlowTPerH });
  requireAboveZero({ beltCapacityTPerH });
  return finiteResult('belt load', massFlowTPerH / beltCapacityTPerH);
};
