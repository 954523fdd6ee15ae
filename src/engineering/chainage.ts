/** Direction of the drive: 1 with rising chainage, -1 against it. [-] */
export type Direction = 1 | -1;

/** Largest distance of a position from zero, 9 999 999.999 m. Project rule. [mm] */
export const POSITION_LIMIT_MM = 9_999_999_999;

/** The two forms of a chainage. */
export const KILOMETRES_AND_METRES = /^(-?)(\d+)\+(\d{3})(?:\.(\d{1,3}))?$/;
export const PLAIN_METRES = /^(-?)(\d+)(?:\.(\d{1,3}))?$/;

/** Checks and returns a position, with −0 as 0. [mm] @param text  the position as written, if it was read from text */
const requirePosition = (name: string, mm: number, text?: string): number => {
  if (Number.isSafeInteger(mm) && Math.abs(mm) <= POSITION_LIMIT_MM) return mm + 0;
  throw new RangeError(
    text === undefined
      ? `${name} is ${mm} mm; it must be a whole number of millimetres within ±9999999.999 m.`
      : `${name} is ${text}; it must lie within ±9999999.999 m.`,
  );
};

const requireDirection = (direction: number): void => {
  if (direction === 1 || direction === -1) return;
  throw new RangeError(`direction is ${direction}; it must be 1 or -1.`);
};

/** Joins the decimal digits without floating point, so the millimetre is exact. [mm] */
const joined = (sign: string, metres: string, decimals = ''): number => {
  const size = Number(metres + decimals.padEnd(3, '0'));
  return sign === '-' ? -size : size;
};

/**
 * Chainage as people write it, to the millimetre. [mm]
 * The sign stands before the kilometre and counts for the whole: `-1+200` is −1200 m (project rule).
 * @param text  `12+345.678`, `-0+000.500`, or plain metres `345.678`; after `+` exactly three digits; at most
 *              three decimals; no blanks, no exponent; within ±9 999 999.999 [m]
 * @throws RangeError when the text has another form or lies outside the range.
 * Source: by definition (km + m); the form and the range: project rule.
 */
export const parseChainage = (text: string): number => {
  const long = KILOMETRES_AND_METRES.exec(text);
  if (long) return requirePosition('chainage', joined(long[1], long[2] + long[3], long[4]), text);
  const plain = PLAIN_METRES.exec(text);
  if (plain) return requirePosition('chainage', joined(plain[1], plain[2], plain[3]), text);
  throw new RangeError(
    `chainage is "${text}"; it must read like 12+345.678 or 345.678, with at most three decimals.`,
  );
};

/**
 * Chainage for people to read: kilometre, `+`, three digits of metres, always three decimals.
 * @param mm  chainage, whole, within ±9 999 999 999 [mm]
 * @throws RangeError when it is not whole or lies outside the range.
 * Source: by definition; the sign before the kilometre: project rule.
 */
export const formatChainage = (mm: number): string => {
  const size = Math.abs(requirePosition('chainage', mm));
  const metres = String(Math.floor(size / 1000) % 1000).padStart(3, '0');
  const decimals = String(size % 1000).padStart(3, '0');
  return `${mm < 0 ? '-' : ''}${Math.floor(size / 1_000_000)}+${metres}.${decimals}`;
};

/**
 * Metres as whole millimetres, exact. [mm]
 * Works on the decimal text of the number: 1.005 gives 1005, and 0.1 + 0.2 is refused, as it is not 0.3.
 * @param metres  three decimals at most, no exponent, within ±9 999 999.999 [m]
 * @throws RangeError when it has more decimals, is not a decimal number or lies outside the range.
 * Source: by definition.
 */
export const toMillimetres = (metres: number | string): number => {
  const plain = PLAIN_METRES.exec(String(metres));
  if (plain) return requirePosition('metres', joined(plain[1], plain[2], plain[3]), String(metres));
  throw new RangeError(`metres is "${metres}"; it must be a decimal number with at most three decimals.`);
};

/**
 * Millimetres as metres with three decimals: 1700 gives `1.700`. [m]
 * @param mm  position or length, whole, within ±9 999 999 999 [mm]
 * @throws RangeError when it is not whole or lies outside the range.
 * Source: by definition.
 */
export const metresText = (mm: number): string => {
  const size = Math.abs(requirePosition('metres', mm));
  return `${mm < 0 ? '-' : ''}${Math.floor(size / 1000)}.${String(size % 1000).padStart(3, '0')}`;
};

/**
 * Position along the drive, counted from its start; below 0 behind the start. [mm]
 * @param chainageMm  chainage of the position, whole [mm]
 * @param startMm     chainage of the start of the drive, whole [mm]
 * @param direction   1 with rising chainage, -1 against it [-]
 * @throws RangeError when a position is not whole or lies outside ±9 999 999.999 m, or for another direction.
 * Source: by definition, for a drive without chainage equations.
 */
export const drivenMm = (chainageMm: number, startMm: number, direction: Direction): number => {
  requireDirection(direction);
  const fromStart = requirePosition('chainageMm', chainageMm) - requirePosition('startMm', startMm);
  return requirePosition('drivenMm', fromStart * direction);
};

/**
 * Chainage of a position along the drive: start + direction × driven. [mm]
 * @param driven     position counted from the start of the drive, whole [mm]
 * @param startMm    chainage of the start of the drive, whole [mm]
 * @param direction  1 with rising chainage, -1 against it [-]
 * @throws RangeError when a position is not whole or lies outside ±9 999 999.999 m, or for another direction.
 * Source: by definition, for a drive without chainage equations.
 */
export const chainageMm = (driven: number, startMm: number, direction: Direction): number => {
  requireDirection(direction);
  const alongChainage = direction * requirePosition('driven', driven);
  return requirePosition('chainageMm', requirePosition('startMm', startMm) + alongChainage);
};
