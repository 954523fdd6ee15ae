import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import config from './jest.config.mjs';

const tests = path.join(import.meta.dirname, config.rootDir);

/** Test files whose random tests are small by `npm test` (harness/sizes.ts). */
const sized = readdirSync(tests, { recursive: true }).filter(
  (file) => /\.test\.tsx?$/.test(file) && readFileSync(path.join(tests, file), 'utf8').includes('/sizes.js'),
);

process.env.TEST_LONG = 'yes';
// `npm run fuzz` and `npm run test:faults` do other things each time; what they did is in their output
if (process.env.FUZZ_REPORT ?? process.env.TEST_FAULTS)
  process.env.TEST_SEED ??= String(Date.now() % 2 ** 31);

/** The long tests: `*.long.ts`, and the random tests in full. */
export default { ...config, testMatch: ['**/*.long.ts', ...sized.map((file) => `<rootDir>/${file}`)] };
