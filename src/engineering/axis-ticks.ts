/**
 * A step of 1, 2 or 5 times a power of ten that divides a length into at most this many parts, in its unit.
 * @param length  > 0
 * @param most    number of parts, ≥ 1
 * Source: by definition.
 */
export const roundStep = (length: number, most: number): number => {
  const power = 10 ** Math.floor(Math.log10(length / most));
  return [1, 2, 5].map((each) => each * power).find((step) => length / step <= most) ?? 10 * power;
};

/**
 * The multiples of a step from one value to another, both included, in their unit.
 * Source: by definition; each is an integer times the step, so that errors do not accumulate.
 */
export const multiples = (from: number, to: number, step: number): number[] => {
  const [first, last] = [Math.ceil(from / step - 1e-9), Math.floor(to / step + 1e-9)];
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => (first + index) * step + 0);
};

/**
 * Ends of an axis on which values lie: multiples of a round step, in the unit of the values; 0 to 1 when there are none.
 * @param values  finite; zero is always on the axis
 * @param most    parts of the axis, ≥ 1
 * Source: by definition.
 */
export const axisEnds = (values: Iterable<number>, most: number): { from: number; to: number } => {
  let [low, high] = [0, 0];
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (low === high) return { from: 0, to: 1 };
  const step = roundStep(high - low, most);
  return { from: Math.floor(low / step + 1e-9) * step, to: Math.ceil(high / step - 1e-9) * step };
};
