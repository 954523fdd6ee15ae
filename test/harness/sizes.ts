/** Whether `npm run test:long` runs, which takes every file that imports this one. */
const isLong = process.env.TEST_LONG !== undefined;

/** The size of a random test: small by `npm test`, in full by `npm run test:long`. */
export const sized = (small: number, full: number): number => (isLong ? full : small);

/** Tests that only `npm run test:long` has, in a file that `npm test` has as well. */
export const inLong = (tests: () => void): void => {
  if (isLong) tests();
};

/** Tests that only `npm test` has, as they would be the same again: of a file that has others for `npm run test:long`. */
export const inShort = (tests: () => void): void => {
  if (!isLong) tests();
};

/** A test of a file that has others for `npm run test:long`, which would be the same again there: `npm test` alone has it. */
export const itOnce = Object.assign(
  (...given: Parameters<typeof it>): void => {
    if (!isLong) it(...given);
  },
  {
    each:
      (...table: [never]) =>
      (...given: [never, never]): void => {
        if (!isLong) it.each(...table)(...given);
      },
  },
) as unknown as typeof it;

/** Such tests that share what is made before them. */
export const describeOnce = (name: string, tests: () => void): void => {
  if (!isLong) describe(name, tests);
};

/**
 * A few of a list by `npm test`, the others by `npm run test:long`: the few are taken in turn, so that cases that count up
 * the place take each of them as often as the next.
 */
export const inTurn = <T>(all: readonly T[], few: number, place: number): T[] =>
  all.filter((_, index) => (((index - place) % all.length) + all.length) % all.length < few !== isLong);

/** One of so many of a list by `npm test`, from that place on; the others by `npm run test:long`. */
export const oneIn = <T>(many: number, all: readonly T[], place = 0): T[] =>
  all.filter((_, index) => (index % many === place % many) !== isLong);

/** The runs of a property: a few, or all of them. */
export const runs = (few: number, all: number): { numRuns: number } => ({ numRuns: sized(few, all) });
