/** Whether this is `npm run test:long`, which runs every file that imports this one. */
const isLong = process.env.TEST_LONG !== undefined;

/** The size of a random test: small for `npm test`, full for `npm run test:long`. */
export const sized = (small: number, full: number): number => (isLong ? full : small);

/** Tests for `npm run test:long` only, in a file that `npm test` runs as well. */
export const inLong = (tests: () => void): void => {
  if (isLong) tests();
};

/** Tests for `npm test` only, which would be the same again in `npm run test:long`, in a file that has others for it. */
export const inShort = (tests: () => void): void => {
  if (!isLong) tests();
};

/** A test for `npm test` only, in a file that has others for `npm run test:long`: there it would be the same again. */
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

/** The same for tests that share a set-up. */
export const describeOnce = (name: string, tests: () => void): void => {
  if (!isLong) describe(name, tests);
};

/**
 * A few items of a list for `npm test`, the others for `npm run test:long`: the few are taken in turn, so that cases that count up the place
 * use every item equally often.
 */
export const inTurn = <T>(all: readonly T[], few: number, place: number): T[] =>
  all.filter((_, index) => (((index - place) % all.length) + all.length) % all.length < few !== isLong);

/** Every n-th item of a list for `npm test`, starting at that place; the others for `npm run test:long`. */
export const oneIn = <T>(many: number, all: readonly T[], place = 0): T[] =>
  all.filter((_, index) => (index % many === place % many) !== isLong);

/** The number of runs of a property: a few, or all of them. */
export const runs = (few: number, all: number): { numRuns: number } => ({ numRuns: sized(few, all) });
