import fc from 'fast-check';

/**
 * What all random tests begin with, so that a failure can be had again, and nobody's change fails by chance; `TEST_SEED` names
 * another one. It holds for each use of fast-check, as `jest/runtime.cjs` loads this file before any test.
 */
export const seed = Number(process.env.TEST_SEED ?? 20270301);

fc.configureGlobal({ seed });
