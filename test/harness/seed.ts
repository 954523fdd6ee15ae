import fc from 'fast-check';

/**
 * Seed of all random tests, so that a failure can be reproduced, and no unrelated change fails by chance; `TEST_SEED` sets another one. It
 * applies to every use of fast-check, because `jest/runtime.cjs` loads this file before any test.
 */
export const seed = Number(process.env.TEST_SEED ?? 20270301);

fc.configureGlobal({ seed });
