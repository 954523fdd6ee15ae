import { availableParallelism } from 'node:os';

// Workers inherit it. Requests make much garbage that does not last: by Node's own 16 MB its collection took 13 % of a worker's CPU,
// by this 8 %.
process.execArgv.push('--max-semi-space-size=64');

/**
 * One PostgreSQL is started for the run, and each file clones a database. Node loads the files and the service, once for a
 * worker (harness/jest); they share the state of modules, so a file ends what it starts and restores what it changes.
 */
export default {
  rootDir: 'test',
  testMatch: ['**/*.test.ts', '**/*.test.tsx'],
  runtime: '<rootDir>/harness/jest/runtime.cjs',
  testEnvironment: '<rootDir>/harness/jest/environment.mjs',
  transform: { '\\.tsx?$': '<rootDir>/harness/jest/source-maps.mjs' },
  globalSetup: './harness/start-run.mjs',
  globalTeardown: './harness/stop-run.mjs',
  // one generous limit for every test and hook: a loaded machine must not decide
  testTimeout: 600_000,
  // a worker frees its memory as it ends: half a second, Jest's own limit, is too short for it on a loaded machine
  workerGracefulExitTimeout: 600_000,
  testSequencer: '<rootDir>/harness/jest/sequencer.mjs',
  maxWorkers: Math.ceil(1.5 * availableParallelism()), // tests of time-outs only wait; more than '100%' would be read as a number
  // a worker that has grown is started anew: each file makes its own application
  workerIdleMemoryLimit: '1500MB',
};
