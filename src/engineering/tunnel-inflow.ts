import { finiteResult, requireAboveZero } from './checks.js';

/**
 * Steady inflow into a deep drive below the water table: q = 2π · K · h / ln(2h / r). [m³/s per m of drive]
 * @param conductivityMPerS  hydraulic conductivity of the rock, > 0 [m/s]
 * @param headM              head of the groundwater above the axis, above the radius [m]
 * @param radiusM            radius of the drive, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: Goodman et al. 1965, from memory. Homogeneous rock, no drawdown of the water table, no lining and no grouted zone; for depths
 * large compared with the radius.
 */
export const goodmanInflow = (conductivityMPerS: number, headM: number, radiusM: number): number => {
  requireAboveZero({ conductivityMPerS, headM, radiusM });
  if (headM <= radiusM)
    throw new RangeError(`headM is ${headM}; it must be above the radius of the drive of ${radiusM}.`);
  return finiteResult('inflow', (2 * Math.PI * conductivityMPerS * headM) / Math.log((2 * headM) / radiusM));
};

/** Converts m³/s per m to litres per minute per 100 m. */
export const per100mLPerMin = (inflowM3PerSPerM: number): number => inflowM3PerSPerM * 1000 * 60 * 100;
