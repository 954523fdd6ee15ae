import { requireZeroOrMore } from './checks.js';

const line =
  (atZero: number, slope: number) =>
  (jvPerM3: number): number => {
    requireZeroOrMore({ jvPerM3 });
    return Math.min(100, Math.max(0, atZero - slope * jvPerM3));
  };

/**
 * RQD from the volumetric joint count by the line of 1982: 115 − 3.3·Jv; clamped to 100 below 4.5 and to 0 from 35 on. [%]
 * @param jvPerM3  joints per cubic metre, ≥ 0 [1/m³]
 * @throws RangeError when the count is negative or not finite.
 * Source: Palmström 1974/1982, read in code of Erharter 2023.
 */
export const rqdFromJv1982 = line(115, 3.3);

/**
 * The same by the line of 2005: 110 − 2.5·Jv; 100 below 4, 0 from 44 on. [%]
 * @param jvPerM3  joints per cubic metre, ≥ 0 [1/m³]
 * @throws RangeError when the count is negative or not finite.
 * Source: Palmström 2005, read in code of Erharter 2023.
 */
export const rqdFromJv2005 = line(110, 2.5);

/**
 * RQD from the frequency of joints along a line: 100·e^(−0.1λ)·(0.1λ + 1). [%]
 * @param frequencyPerM  λ, all joints per metre, counted along the line (scanline or core), ≥ 0 [1/m]
 * @throws RangeError when the frequency is negative or not finite.
 * Source: Priest and Hudson 1976; transcribed. For exponentially distributed spacings and pieces of 0.1 m.
 */
export const rqdFromFrequency = (frequencyPerM: number): number => {
  requireZeroOrMore({ frequencyPerM });
  return 100 * Math.exp(-0.1 * frequencyPerM) * (0.1 * frequencyPerM + 1);
};
