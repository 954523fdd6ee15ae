import { toMillimetres } from './chainage.js';
import { requireZeroOrMore } from './checks.js';

/**
 * Volume of overbreak of uniform cross-section: A · l, to 0.001 m³, exact. [m³]
 * @param areaM2   as-built less theoretical area, ≥ 0, three decimals at most [m²]
 * @param lengthM  length along the drive, ≥ 0, three decimals at most [m]
 * @throws RangeError when an input is negative or has more decimals.
 * Source: by definition. Half a litre is rounded up, as the database rounds.
 */
export const overbreakVolume = (areaM2: string, lengthM: string): string => {
  const [area, length] = [toMillimetres(areaM2), toMillimetres(lengthM)]; // in thousandths
  requireZeroOrMore({ areaM2: area, lengthM: length });
  const thousandths = String((BigInt(area) * BigInt(length) + 500n) / 1000n).padStart(4, '0');
  return `${thousandths.slice(0, -3)}.${thousandths.slice(-3)}`;
};
