/** Tests run as ES modules through swc; one PostgreSQL is started for the run, one database is cloned a file. */
export default {
  rootDir: 'test',
  testMatch: ['**/*.test.ts'],
  extensionsToTreatAsEsm: ['.ts'],
  moduleNameMapper: { '^(\\.{1,2}/.*)\\.js$': '$1' },
  transform: {
    '^.+\\.ts$': [
      '@swc/jest',
      {
        jsc: {
          target: 'es2022',
          parser: { syntax: 'typescript', decorators: true },
          transform: { legacyDecorator: true, decoratorMetadata: true },
          keepClassNames: true,
        },
        module: { type: 'es6' },
      },
    ],
  },
  globalSetup: './support/start-postgres.mjs',
  globalTeardown: './support/stop-postgres.mjs',
  // one generous limit for every test and hook: a loaded machine must not decide
  testTimeout: 600_000,
  maxWorkers: '100%',
  // a worker that has grown is started anew: each file makes its own application
  workerIdleMemoryLimit: '1500MB',
};
