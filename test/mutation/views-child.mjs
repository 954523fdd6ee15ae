import { register } from 'node:module';
import { pathToFileURL } from 'node:url';
import { expect } from 'expect';
import * as circus from 'jest-circus';
import { ModuleMocker } from 'jest-mock';

// Runs test files against the current database, one after the other in one process, as its parent asks.

const { afterAll, afterEach, beforeAll, beforeEach, describe, it, test } = circus;
const { run, resetState, addEventHandler, getState } = circus;
Object.assign(globalThis, { afterAll, afterEach, beforeAll, beforeEach, describe, it, test, expect });

let failed = false;

/** After the first failure of a file, only its clean-up runs. */
const untilFailure = (event) => {
  if (event.name === 'test_fn_failure' || event.name === 'error') failed = true;
  if (event.name === 'hook_failure' && !event.hook.type.startsWith('after')) failed = true;
  if (event.name === 'test_start' && failed) event.test.mode = 'skip';
};

addEventHandler(untilFailure);

let loads = 0;

const failureOf = async (file) => {
  resetState();
  getState().testTimeout = 600_000;
  failed = false;
  loads += 1;
  try {
    await import(`${pathToFileURL(file)}?load=${loads}`);
    const { testResults, unhandledErrors } = await run();
    return [...unhandledErrors, ...testResults.flatMap(({ errors }) => errors)][0]?.toString().slice(0, 300);
  } catch (error) {
    return String(error?.stack ?? error);
  }
};

register('../../prisma/tools/typescript-hooks.mjs', import.meta.url);
register('../harness/jest/globals-hooks.mjs', import.meta.url);
register('./again-hooks.mjs', import.meta.url);
const mocker = new ModuleMocker(globalThis);
const { useJest } = await import('../harness/jest/globals.mjs');
useJest({ fn: mocker.fn.bind(mocker), spyOn: mocker.spyOn.bind(mocker) });
await import('../harness/seed.ts');

process.on('message', async ({ file, end }) => {
  if (end) {
    await globalThis.endSharedServices?.();
    process.exit();
  }
  const failure = await failureOf(file);
  mocker.restoreAllMocks();
  process.send({ failure: failure ?? null });
});
process.on('disconnect', () => process.exit());
process.send({ ready: true });
