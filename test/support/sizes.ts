/** Whether `npm run test:long` runs, which takes every file that imports this one. */
const isLong = process.env.TEST_LONG !== undefined;

/** The size of a random test: small by `npm test`, in full by `npm run test:long`. */
export const sized = (small: number, full: number): number => (isLong ? full : small);

/**
 * A few of a list by `npm test`, the others by `npm run test:long`: the few are taken in turn, so that cases that count up
 * the place take each of them as often as the next.
 */
export const inTurn = <T>(all: readonly T[], few: number, place: number): T[] =>
  all.filter((_, index) => (((index - place) % all.length) + all.length) % all.length < few !== isLong);

/** The runs of a property: a few, or all of them. */
export const runs = (few: number, all: number): { numRuns: number } => ({ numRuns: sized(few, all) });
