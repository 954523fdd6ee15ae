const hooks = require('node:async_hooks');
const { createRequire, isBuiltin, register } = require('node:module');
const path = require('node:path');
const { fileURLToPath, pathToFileURL } = require('node:url');
const { default: Runtime } = require('jest-runtime');

const here = pathToFileURL(__filename);
register('../../../prisma/tools/typescript-hooks.mjs', here);
register('./globals-hooks.mjs', here);

// A worker whose parent was killed would go on, and wait for a database that is gone. (To listen for `disconnect` would
// keep a worker from ending.)
const isWorker = process.connected;
setInterval(() => isWorker && !process.connected && process.exit(1), 500).unref();

const TYPESCRIPT = /\.tsx?$/;

const GLOBALS = [
  'console',
  'describe',
  'it',
  'test',
  'expect',
  'beforeAll',
  'beforeEach',
  'afterEach',
  'afterAll',
];

/**
 * What Jest would load anew for each file: the libraries of its runner, by name. What they keep is set for each file: its name, its
 * snapshots, its count of assertions. The runner itself, which is named by its path, holds the tests of a file.
 */
const isLoadedOnce = (name) =>
  name !== undefined && !name.startsWith('.') && !path.isAbsolute(name) && !isBuiltin(name);

/** Where the source map of a file is that Node has loaded: made when a stack trace asks for it. */
class SourceMaps extends Map {
  #transformer;

  constructor(transformer) {
    super();
    this.#transformer = transformer;
  }

  get(source) {
    if (!TYPESCRIPT.test(source)) return undefined;
    const file = source.startsWith('file:') ? fileURLToPath(source) : source;
    return this.#transformer.transform(file, { instrument: false, supportsStaticESM: true }).sourceMapPath;
  }
}

/**
 * Loads test files and all that they import by Node itself, once for a worker. Jest would load the service and its
 * libraries anew for each file, which takes several seconds of CPU, longer than most files take to run.
 */
module.exports = class WorkerRuntime extends Runtime {
  #sourceMaps;
  #storages = [];

  constructor(...args) {
    super(...args);
    this.#sourceMaps = new SourceMaps(args[3]);
  }

  unstable_shouldLoadAsEsm(file) {
    return TYPESCRIPT.test(file) || super.unstable_shouldLoadAsEsm(file);
  }

  async unstable_importModule(file) {
    for (const name of GLOBALS) globalThis[name] = this._environment.global[name];
    await import('../seed.ts');
    const { useJest } = await import('./globals.mjs');
    useJest(this.jestGlobals.jestObjectFor(file));
    return import(pathToFileURL(file));
  }

  /** Jest makes an AsyncLocalStorage for each file. Node would carry those of all files along with every promise of the worker. */
  requireInternalModule(...args) {
    const [from, name] = args;
    if (isLoadedOnce(name)) return createRequire(from)(name);
    const { AsyncLocalStorage } = hooks;
    const made = this.#storages;
    class Storage extends AsyncLocalStorage {
      constructor() {
        super();
        made.push(this);
      }
    }
    const property = Object.getOwnPropertyDescriptor(hooks, 'AsyncLocalStorage'); // a getter from Node 22 on
    Object.defineProperty(hooks, 'AsyncLocalStorage', {
      value: Storage,
      enumerable: true,
      configurable: true,
    });
    try {
      return super.requireInternalModule(...args);
    } finally {
      Object.defineProperty(hooks, 'AsyncLocalStorage', property);
    }
  }

  teardown() {
    for (const storage of this.#storages) storage.disable();
    super.teardown();
  }

  getSourceMaps() {
    return this.#sourceMaps;
  }
};
