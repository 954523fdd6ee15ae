/** Whether `npm run test:long` runs, which takes every file that imports this one. */
const isLong = process.env.TEST_LONG !== undefined;

/** The size of a random test: small by `npm test`, in full by `npm run test:long`. */
export const sized = (small: number, full: number): number => (isLong ? full : small);

/** The runs of a property: a few that are always the same, or all of them, which differ each time. */
export const runs = (few: number, all: number): { numRuns: number; seed?: number } =>
  isLong ? { numRuns: all } : { numRuns: few, seed: 20270301 };
