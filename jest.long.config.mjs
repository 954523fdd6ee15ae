import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import config from './jest.config.mjs';

const tests = path.join(import.meta.dirname, config.rootDir);

/** Test files whose random tests are small by `npm test` (support/sizes.ts). */
const sized = readdirSync(tests, { recursive: true }).filter(
  (file) => file.endsWith('.test.ts') && readFileSync(path.join(tests, file), 'utf8').includes('/sizes.js'),
);

process.env.TEST_LONG = 'yes';

/** The long tests: `*.long.ts`, and the random tests in full. */
export default { ...config, testMatch: ['**/*.long.ts', ...sized.map((file) => `<rootDir>/${file}`)] };
