const [NEGATIVE, SPECIAL] = [0x4000, 0x8000];

/** Powers of ten that a double represents exactly. */
const TENS = Array.from({ length: 16 }, (_, n) => 10 ** n);

const HIGH = 2 ** 32;

/** A value that does not fit the type of its column. */
export class DoesNotFit extends Error {}

/** The value without its decimal point, in double arithmetic; undefined: it has too many digits for that. */
const small = (bytes: Buffer, at: number, digits: number, shift: number): number | undefined => {
  let value = 0;
  for (let n = 0; n < digits; n += 1) value = value * 10_000 + bytes.readUInt16BE(at + 8 + 2 * n);
  if (digits > 3 && value > Number.MAX_SAFE_INTEGER) return undefined;
  if (shift >= 0) {
    const scaled = shift < 16 ? value * (TENS[shift] as number) : Infinity;
    return scaled <= Number.MAX_SAFE_INTEGER ? scaled : value === 0 ? 0 : undefined;
  }
  const divisor = shift > -16 ? (TENS[-shift] as number) : Infinity;
  if (value % divisor !== 0) return undefined;
  return value / divisor;
};

const large = (bytes: Buffer, at: number, digits: number, shift: number, scale: number): bigint => {
  let value = 0n;
  for (let n = 0; n < digits; n += 1) value = value * 10_000n + BigInt(bytes.readUInt16BE(at + 8 + 2 * n));
  if (shift >= 0) return value * 10n ** BigInt(shift);
  const divisor = 10n ** BigInt(-shift);
  if (value % divisor !== 0n) throw new DoesNotFit(`has more than ${scale} decimals`);
  return value / divisor;
};

/**
 * Writes a numeric, in PostgreSQL's binary format, as a 128-bit integer (the value × 10^scale) in four words, lowest first.
 * @throws DoesNotFit for more digits than the type has (it never rounds), for NaN and for infinity
 */
export const writeDecimal = (
  bytes: Buffer,
  at: number,
  { precision, scale }: { precision: number; scale: number },
  words: Uint32Array,
  index: number,
): void => {
  const digits = bytes.readUInt16BE(at);
  const sign = bytes.readUInt16BE(at + 4);
  if ((sign & SPECIAL) !== 0) throw new DoesNotFit('is not a number');
  // digits come in groups of four; `weight` is the position of the first group
  const shift = (bytes.readInt16BE(at + 2) - digits + 1) * 4 + scale;
  const isNegative = sign === NEGATIVE;
  const plain = digits <= 4 ? small(bytes, at, digits, shift) : undefined;
  if (plain !== undefined && (precision > 15 || plain < (TENS[precision] as number))) {
    const [low, high] = [plain % HIGH, Math.floor(plain / HIGH)];
    if (!isNegative) {
      [words[index], words[index + 1], words[index + 2], words[index + 3]] = [low, high, 0, 0];
      return;
    }
    words[index] = -low;
    words[index + 1] = low === 0 ? -high : ~high;
    words[index + 2] = words[index + 3] = plain === 0 ? 0 : 0xffffffff;
    return;
  }
  const size = large(bytes, at, digits, shift, scale);
  if (size >= 10n ** BigInt(precision))
    throw new DoesNotFit(`has more than ${precision - scale} digits before its point`);
  const value = BigInt.asUintN(128, isNegative ? -size : size);
  for (let word = 0; word < 4; word += 1)
    words[index + word] = Number((value >> BigInt(32 * word)) & 0xffffffffn);
};
