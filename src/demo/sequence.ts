/** A repeatable sequence of whole numbers: the same seed gives the same drive on every machine. */
export type Sequence = (low: number, high: number) => number;

/**
 * @param seed  whole, 1 to 2147483646
 * @returns a function that gives the next whole number from low to high, both included
 * Source: Park and Miller 1988, minimal standard generator (multiplier 48271); exact in doubles.
 */
export const sequence = (seed: number): Sequence => {
  let state = seed;
  return (low, high) => {
    state = (state * 48_271) % 2_147_483_647;
    return low + (state % (high - low + 1));
  };
};
