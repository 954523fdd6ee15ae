const FORM = /^(-?)(\d+)(?:\.(\d+))?$/;

/** A decimal number as an integer in units of its last decimal place. */
interface Scaled {
  digits: bigint;
  decimals: number;
}

const scaled = (text: string): Scaled => {
  const [, sign, whole = '', fraction = ''] = FORM.exec(text) ?? [];
  if (sign === undefined) throw new RangeError(`"${text}" is not a decimal number`);
  return { digits: BigInt(`${sign}${whole}${fraction}`), decimals: fraction.length };
};

const written = (digits: bigint, decimals: number): string => {
  const sign = digits < 0n ? '-' : '';
  const text = String(digits < 0n ? -digits : digits).padStart(decimals + 1, '0');
  return decimals === 0 ? sign + text : `${sign}${text.slice(0, -decimals)}.${text.slice(-decimals)}`;
};

/** A decimal number without insignificant zeros: 007.50 becomes 7.5, and -0.0 becomes 0. @throws RangeError when it is not a decimal number */
export const plainDecimal = (text: string): string => {
  const { digits, decimals } = scaled(text);
  const full = written(digits, decimals);
  return full.includes('.') ? full.replace(/\.?0+$/, '') : full;
};

/** Number of decimals, without trailing zeros. @throws RangeError when it is not a decimal number */
export const decimalsOf = (text: string): number => plainDecimal(text).split('.')[1]?.length ?? 0;

/**
 * Amount of an item: quantity × rate, exact, then rounded once and half away from zero. [currency]
 * @param quantity    decimal number [unit]
 * @param rate        decimal number [currency/unit]
 * @param minorUnits  decimals of an amount in the currency, ≥ 0
 * Source: by definition; rounding as by `round(numeric, int)` of PostgreSQL.
 * @throws RangeError for what is not a decimal number
 */
export const amountOf = (quantity: string, rate: string, minorUnits: number): string => {
  const [q, r] = [scaled(quantity), scaled(rate)];
  const product = q.digits * r.digits;
  const excess = q.decimals + r.decimals - minorUnits;
  if (excess <= 0) return written(product * 10n ** BigInt(-excess), minorUnits);
  const unit = 10n ** BigInt(excess);
  const half = product < 0n ? -unit / 2n : unit / 2n;
  return written((product + half) / unit, minorUnits); // integer division rounds towards zero
};
