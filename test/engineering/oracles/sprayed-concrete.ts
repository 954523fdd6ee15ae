import { finiteResult, requireAboveZero, requireZeroOrMore } from '../../../src/engineering/checks.js';

const stays = (reboundPercent: number): number => {
  requireZeroOrMore({ reboundPercent });
  if (reboundPercent >= 100)
    throw new RangeError(`reboundPercent is ${reboundPercent}; it must be below 100.`);
  return 1 - reboundPercent / 100;
};

/**
 * Theoretical volume of sprayed concrete: arc · thickness · length. [m³]
 * @param arcLengthM   length of the arc, ≥ 0 [m]
 * @param thicknessMm  theoretical thickness, > 0 [mm]
 * @param lengthM      length along the drive, ≥ 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: by definition; measured on the rock, so a thin shell.
 */
export const theoreticalVolume = (arcLengthM: number, thicknessMm: number, lengthM: number): number => {
  requireZeroOrMore({ arcLengthM, lengthM });
  requireAboveZero({ thicknessMm });
  return finiteResult('theoretical volume', (arcLengthM * lengthM * thicknessMm) / 1000);
};

/**
 * Volume to be batched: V · (1 + overbreak and roughness) / (1 − rebound). [m³]
 * @param theoreticalVolumeM3  theoretical volume, ≥ 0 [m³]
 * @param overbreakPercent     allowance for overbreak and roughness, ≥ 0 [%]
 * @param reboundPercent       part of the batched volume that falls off, 0 ≤ r < 100 [%]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. Rebound of about 10–30 %: ACI 506R-05, as quoted by the American Shotcrete Association.
 */
export const batchedVolume = (
  theoreticalVolumeM3: number,
  overbreakPercent: number,
  reboundPercent: number,
): number => {
  requireZeroOrMore({ theoreticalVolumeM3, overbreakPercent });
  const batched = (theoreticalVolumeM3 * (1 + overbreakPercent / 100)) / stays(reboundPercent);
  return finiteResult('batched volume', batched);
};

/**
 * Factor of overbreak and rebound as measured: delivered / theoretical. [-]
 * @param deliveredVolumeM3    volume by the delivery tickets, ≥ 0 [m³]
 * @param theoreticalVolumeM3  theoretical volume, > 0 [m³]
 * @throws RangeError when an input is outside its range.
 * Source: by definition; overbreak, roughness, rebound, waste and extra thickness are in it together.
 */
export const volumeFactor = (deliveredVolumeM3: number, theoreticalVolumeM3: number): number => {
  requireZeroOrMore({ deliveredVolumeM3 });
  requireAboveZero({ theoreticalVolumeM3 });
  return finiteResult('volume factor', deliveredVolumeM3 / theoreticalVolumeM3);
};

/**
 * Rebound that was measured: 1 − placed / delivered. [%]
 * @param placedVolumeM3     volume that stayed on the rock, ≥ 0, not above the delivered one [m³]
 * @param deliveredVolumeM3  volume by the delivery tickets, > 0 [m³]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const measuredRebound = (placedVolumeM3: number, deliveredVolumeM3: number): number => {
  requireZeroOrMore({ placedVolumeM3 });
  requireAboveZero({ deliveredVolumeM3 });
  if (placedVolumeM3 > deliveredVolumeM3)
    throw new RangeError(
      `placedVolumeM3 is ${placedVolumeM3}; it must not exceed ${deliveredVolumeM3}, what was delivered.`,
    );
  return 100 * (1 - placedVolumeM3 / deliveredVolumeM3);
};

/**
 * Mean thickness of sprayed concrete: V · (1 − rebound) / A. [mm]
 * @param deliveredVolumeM3  volume by the delivery tickets, ≥ 0 [m³]
 * @param reboundPercent     part of it that fell off, 0 ≤ r < 100 [%]
 * @param areaM2             area sprayed, > 0 [m²]
 * @throws RangeError when an input is outside its range.
 * Source: by definition. A mean that includes filled hollows: no proof of a minimum thickness.
 */
export const meanThickness = (deliveredVolumeM3: number, reboundPercent: number, areaM2: number): number => {
  requireZeroOrMore({ deliveredVolumeM3 });
  requireAboveZero({ areaM2 });
  return finiteResult('mean thickness', (1000 * deliveredVolumeM3 * stays(reboundPercent)) / areaM2);
};
