import { runInNewContext } from 'node:vm';
import { ModernFakeTimers } from '@jest/fake-timers';
import { TestEnvironment } from 'jest-environment-node';
import { ModuleMocker } from 'jest-mock';

const CLASSES = runInNewContext('Object.getOwnPropertyNames(globalThis)').filter(
  (name) => /^[A-Z]/.test(name) && typeof globalThis[name] === 'function',
);

// A worker with nothing more to do ends at once: Jest stops listening to it. Node would wait for the service that files share, and for requests
// that it counts as open, one of which may never end.
process.once('beforeExit', () => process.exit());
process.on('removeListener', (event) => {
  if (event === 'message' && process.send && process.listenerCount(event) === 0) process.exit();
});

/**
 * Tests run in the worker's own realm (see runtime.cjs). `expect` runs in a realm that Jest makes for each file: it gets the worker's
 * classes, so that `instanceof` works, and mocks and fake timers act on the worker. Both end with the file, as do changes of
 * environment variables.
 */
export default class WorkerEnvironment extends TestEnvironment {
  #variables = { ...process.env };

  constructor(config, context) {
    super(config, context);
    for (const name of CLASSES) this.global[name] = globalThis[name];
    this.moduleMocker = new ModuleMocker(globalThis);
    this.fakeTimersModern = new ModernFakeTimers({ config: config.projectConfig, global: globalThis });
  }

  async teardown() {
    this.moduleMocker.restoreAllMocks();
    for (const name of Object.keys(process.env)) if (!(name in this.#variables)) delete process.env[name];
    Object.assign(process.env, this.#variables);
    await super.teardown();
  }
}
