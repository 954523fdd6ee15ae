import { Decimal } from 'decimal.js';

// A drive's support by ground class, by a second method: piece by piece and millimetre by millimetre.

Decimal.set({ precision: 60, rounding: Decimal.ROUND_HALF_UP });

export interface Line {
  item: 'BOLT' | 'MESH' | 'SPRAY' | 'TH29';
  fromMm: number;
  toMm: number;
  /** Pieces, or thousandths of the unit. */
  amount: number;
  /** Positions of the pieces; evenly spread by default. */
  positionsMm?: number[];
}

/** A length with one class; places in none have no class. */
export interface Note {
  code: string;
  fromMm: number;
  toMm: number;
}

export const isCounted = ({ item }: Line): boolean => item === 'BOLT' || item === 'TH29';

const classAt = (notes: Note[], isWithin: (fromMm: number, toMm: number) => boolean): string | undefined =>
  notes.find(({ fromMm, toMm }) => isWithin(fromMm, toMm))?.code;

/** Class of each piece; positions are compared in units of 1/(2n) mm, so that nothing is rounded. */
const classesOfPieces = (
  { fromMm, toMm, amount, positionsMm }: Line,
  notes: Note[],
): (string | undefined)[] =>
  Array.from({ length: amount }, (_, index) => {
    const own = positionsMm?.[index];
    const place =
      own === undefined ? 2 * amount * fromMm + (2 * index + 1) * (toMm - fromMm) : 2 * amount * own;
    return classAt(notes, (from, to) => 2 * amount * from <= place && place < 2 * amount * to);
  });

/** Thousandths in each millimetre: the running total is rounded to a millionth of them, a billionth of the unit. */
const classesOfMillimetres = (
  { fromMm, toMm, amount }: Line,
  notes: Note[],
): [string | undefined, Decimal][] => {
  const length = toMm - fromMm;
  const until = (mm: number): Decimal => new Decimal(amount).times(mm).div(length).toDecimalPlaces(6);
  return Array.from({ length }, (_, mm) => [
    classAt(notes, (from, to) => from <= fromMm + mm && fromMm + mm < to),
    until(mm + 1).minus(until(mm)),
  ]);
};

/** Totals of an item's lines by class: number of pieces, or thousandths of the unit. */
export const amountsByClass = (lines: Line[], notes: Note[]): Map<string | undefined, Decimal> => {
  const amounts = new Map<string | undefined, Decimal>();
  for (const line of lines) {
    const parts: [string | undefined, Decimal][] = isCounted(line)
      ? classesOfPieces(line, notes).map((code) => [code, new Decimal(1)])
      : classesOfMillimetres(line, notes);
    for (const [code, amount] of parts) amounts.set(code, (amounts.get(code) ?? new Decimal(0)).plus(amount));
  }
  return amounts;
};

/** Quantities rounded to steps that sum to their rounded total: the largest remainders get the remaining steps, the first of equal ones. */
export const paidOf = (exact: Decimal[], step: Decimal): Decimal[] => {
  const sum = exact.reduce((total, quantity) => total.plus(quantity), new Decimal(0));
  const steps = exact.map((quantity) => quantity.div(step).floor());
  let left = sum
    .div(step)
    .round()
    .minus(steps.reduce((total, n) => total.plus(n), new Decimal(0)))
    .toNumber();
  const byRemainder = exact
    .map((quantity, index) => ({ index, rest: quantity.div(step).minus(steps[index]!).toDecimalPlaces(6) }))
    .sort((a, b) => b.rest.comparedTo(a.rest) || a.index - b.index);
  for (const { index } of byRemainder) if (left-- > 0) steps[index] = steps[index]!.plus(1);
  return steps.map((n) => n.times(step));
};
