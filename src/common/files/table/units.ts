/** Size of a unit in the base unit of its quantity: numerator and denominator of the factor. */
type Size = readonly [quantity: string, over: bigint, under: bigint];

const sizes = (quantity: string, units: Record<string, readonly [number, number]>): [string, Size][] =>
  Object.entries(units).map(([unit, [over, under]]) => [unit, [quantity, BigInt(over), BigInt(under)]]);

/** By definition (SI, and units accepted for use with it: SI Brochure, 9th edition, table 8). */
const UNITS = new Map<string, Size>([
  ...sizes('length', { m: [1, 1], km: [1000, 1], cm: [1, 100], mm: [1, 1000] }),
  ...sizes('area', { 'm²': [1, 1], 'cm²': [1, 10_000], 'mm²': [1, 1_000_000] }),
  ...sizes('volume', { 'm³': [1, 1], L: [1, 1000] }),
  ...sizes('force', { kN: [1, 1], N: [1, 1000], MN: [1000, 1] }),
  ...sizes('torque', { kNm: [1, 1], Nm: [1, 1000], MNm: [1000, 1] }),
  ...sizes('pressure', { bar: [1, 1], kPa: [1, 100], MPa: [10, 1], Pa: [1, 100_000] }),
  ...sizes('mass', { kg: [1, 1], g: [1, 1000], t: [1000, 1] }),
  ...sizes('time', { s: [1, 1], min: [60, 1], h: [3600, 1] }),
  ...sizes('flow', { 'L/min': [1, 1], 'L/s': [60, 1] }),
  ...sizes('power', { kW: [1, 1], W: [1, 1000], MW: [1000, 1] }),
  ...sizes('ratio', { '%': [1, 1], '‰': [1, 10], '-': [100, 1], '1': [100, 1] }),
  ...sizes('penetration', { 'mm/rev': [1, 1], 'cm/rev': [10, 1] }),
  ...sizes('density', { 't/m³': [1, 1], 'kg/m³': [1, 1000] }),
]);

/** A unit in the spelling used here: m3 and m³, kN·m and kNm, l and L, deg and °, rot and rev. */
export const tidyUnit = (unit: string): string =>
  unit
    .trim()
    .replaceAll(/[·*\s]/g, '')
    .replaceAll('2', '²')
    .replaceAll('3', '³')
    .replaceAll(/\bl\b/g, 'L')
    .replaceAll(/\brot\b/g, 'rev')
    .replace(/^(deg|degrees?|°)$/, '°')
    .replace(/^rpm$/, '1/min');

/**
 * The factor between two units as an exact decimal. undefined: they are of different quantities, or the decimal would not end, so
 * that a converted value would differ from the written one.
 */
export const unitFactor = (from: string, to: string): string | undefined => {
  const [a, b] = [tidyUnit(from), tidyUnit(to)];
  if (a === b) return '1';
  const [one, other] = [UNITS.get(a), UNITS.get(b)];
  if (!one || !other || one[0] !== other[0]) return undefined;
  return decimalOf(one[1] * other[2], one[2] * other[1]);
};

/** Most decimals of a factor. */
const MOST_DECIMALS = 12;

const decimalOf = (over: bigint, under: bigint): string | undefined => {
  const scale = 10n ** BigInt(MOST_DECIMALS);
  return (over * scale) % under === 0n ? pointed((over * scale) / under, MOST_DECIMALS) : undefined;
};

const pointed = (digits: bigint, decimals: number): string => {
  const sign = digits < 0n ? '-' : '';
  const text = String(digits < 0n ? -digits : digits).padStart(decimals + 1, '0');
  if (decimals === 0) return sign + text;
  const part = text.slice(-decimals).replace(/0+$/, '');
  const whole = text.slice(0, -decimals);
  return part === '' ? (whole === '0' ? '0' : sign + whole) : `${sign}${whole}.${part}`;
};

const DECIMAL = /^([+-]?)(\d*)\.?(\d*)(?:[eE]([+-]?\d{1,3}))?$/;

/** A decimal as an integer and its number of decimals. */
const digitsOf = (text: string): [bigint, number] | undefined => {
  const [, sign, whole = '', part = '', exponent = '0'] = DECIMAL.exec(text) ?? [];
  if (sign === undefined || whole + part === '') return undefined;
  const shift = part.length - Number(exponent);
  const digits = BigInt(whole + part) * (sign === '-' ? -1n : 1n);
  return shift >= 0 ? [digits, shift] : [digits * 10n ** BigInt(-shift), 0];
};

/** text × factor + offset, exactly; a text that is not a number is left for the rules of its field to refuse. */
export const scaled = (text: string, factor: string, offset = '0'): string => {
  const [value, by, plus] = [digitsOf(text), digitsOf(factor), digitsOf(offset)];
  if (!value || !by || !plus || (factor === '1' && offset === '0')) return text;
  const decimals = Math.max(value[1] + by[1], plus[1]);
  const product = value[0] * by[0] * 10n ** BigInt(decimals - value[1] - by[1]);
  return pointed(product + plus[0] * 10n ** BigInt(decimals - plus[1]), decimals);
};
