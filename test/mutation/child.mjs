import { register } from 'node:module';
import { pathToFileURL } from 'node:url';
import { format } from 'node:util';
import { expect } from 'expect';

// Runs test files on mutants, one after the other, as its parent asks. It provides the part of Jest that tests of pure functions use: starting
// Jest for each mutant would take a hundred times as long as the tests.

let suite;

const rows = (table) => table.map((row) => (Array.isArray(row) ? row : [row]));
const each = (define) =>
  Object.assign(define, {
    each: (table) => (name, body) => {
      for (const row of rows(table)) define(format(name, ...row), () => body(...row));
    },
  });

const define = each((name, body) => suite.tests.push({ name, body, around: suite.around }));
const hook = (kind) => (body) => suite.around[kind].push(body);
const nested = (around) => ({
  beforeAll: [],
  afterAll: [],
  beforeEach: [...(around?.beforeEach ?? [])],
  afterEach: [...(around?.afterEach ?? [])],
  outer: around,
});

Object.assign(globalThis, {
  expect,
  it: define,
  test: define,
  describe: each((_name, body) => {
    const { around } = suite;
    suite.around = nested(around);
    body();
    suite.around = around;
  }),
  ...Object.fromEntries(
    ['beforeAll', 'afterAll', 'beforeEach', 'afterEach'].map((kind) => [kind, hook(kind)]),
  ),
});

const begin = async (around) => {
  if (!around || around.begun) return;
  await begin(around.outer);
  around.begun = true;
  for (const body of around.beforeAll) await body();
};

/** The first failure in the tests of the files; undefined: none. */
const failureOf = async (files, mutant) => {
  for (const file of files) {
    suite = { tests: [], around: nested() };
    try {
      await import(`${pathToFileURL(file)}?mutant=${mutant}`);
      for (const { body, around } of suite.tests) {
        await begin(around);
        for (const before of around.beforeEach) await before();
        await body();
        for (const after of around.afterEach) await after();
      }
    } catch (error) {
      return `${file}: ${error?.message ?? error}`;
    }
  }
  return undefined;
};

process.once('message', async ({ mutants }) => {
  register('../../prisma/tools/typescript-hooks.mjs', import.meta.url);
  register('./hooks.mjs', import.meta.url, { data: mutants });
  await import('../harness/seed.ts');
  process.on('message', async ({ mutant, files }) => {
    process.send({ mutant, failure: (await failureOf(files, mutant)) ?? null });
  });
  process.send({ ready: true });
});
