import 'reflect-metadata';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import { plainToInstance } from 'class-transformer';
import { validateSync } from 'class-validator';
import fc from 'fast-check';
import { STORY } from '../../src/common/api/examples/story.js';
import { inheritedNames } from '../../src/common/api/inherited-names.js';
import { quicklyJudged } from '../../src/common/api/quick-judge.js';
import { Resources } from '../../src/common/api/resources.js';
import { startApp, type TestApp } from '../harness/app.js';
import { runs } from '../harness/sizes.js';

// Quick validation against class-transformer and class-validator themselves: input that breaks no rule is read as they read it, and input
// that breaks one is never accepted. The bodies are those of the API's examples, and random changes of them.

type Class = new () => object;

let app: TestApp;

/** Bodies of the examples, with the classes that they are read as. */
const bodies: [path: string, type: Class, body: object][] = [];

beforeAll(async () => {
  app = await startApp();
  const resources = app.app.get(Resources);
  for (const { method, path, body } of STORY) {
    if (typeof body !== 'object' || Array.isArray(body) || path.includes('/imports/')) continue; // no file
    const verb = method.toUpperCase() as 'PUT' | 'POST';
    const route = resources.route(verb, path.replaceAll(/\{(\w+)\}/g, ':$1'));
    const type = route?.arguments.find(({ kind }) => kind === RouteParamtypes.BODY)?.type;
    if (type) bodies.push([path, type as Class, body]);
  }
});

afterAll(() => app.close());

/** As they judge: the instance; undefined: it breaks a rule. */
const judged = (type: Class, body: object): object | undefined => {
  if (inheritedNames(body, 'body').length > 0) return undefined; // they would take them for their own
  const instance = plainToInstance(type, structuredClone(body));
  const errors = validateSync(instance, {
    ...{ whitelist: true, forbidNonWhitelisted: true, forbidUnknownValues: false, stopAtFirstError: true },
  });
  return errors.length === 0 ? instance : undefined;
};

it('every body of the examples is read as the libraries read it', () => {
  expect(bodies.length).toBeGreaterThan(40);
  const slow = bodies.filter(([, type, body]) => {
    const quick = quicklyJudged(type, structuredClone(body));
    if (quick) expect(quick).toStrictEqual(judged(type, body));
    return quick === undefined;
  });
  expect(slow.map(([path]) => path)).toEqual([]);
});

const STRANGE: unknown[] = [
  null,
  '',
  'x',
  '-0',
  '1.5',
  '0012',
  '1e3',
  0,
  -1,
  1.23456789,
  1e12,
  true,
  [],
  [null],
  [1],
  ['x', 'x'],
  [[]],
  {},
  [{}],
  { toString: 1 },
  { then: 1 },
  'a\u0000b',
  '2024-02-30',
  '2024-03-01T06:00:00+01:00',
];

/** Each member of a document, however deep: its holder and its name. */
const placesIn = (value: unknown): [holder: Record<string, unknown>, name: string][] =>
  typeof value === 'object' && value !== null
    ? Object.keys(value).flatMap((name): [Record<string, unknown>, string][] => {
        const holder = value as Record<string, unknown>;
        return [[holder, name], ...placesIn(holder[name])];
      })
    : [];

it('bodies with a member set to null or to a number as text are read alike, or left to the libraries', () => {
  let taken = 0;
  for (const [, type, example] of bodies)
    for (const [place] of placesIn(example).entries())
      for (const value of [null, '1.5', '3']) {
        const body = structuredClone(example);
        const [holder, name] = placesIn(body)[place] ?? [{}, ''];
        holder[name] = value;
        const quick = quicklyJudged(type, body);
        if (!quick) continue;
        expect(quick).toStrictEqual(judged(type, body));
        taken += 1;
      }
  expect(taken).toBeGreaterThan(300);
});

const change = fc.record({
  at: fc.nat(),
  how: fc.constantFrom('set', 'set', 'set', 'remove', 'add'),
  what: fc.nat(STRANGE.length - 1),
  name: fc.constantFrom('other', '__proto__', 'constructor', 'toString', 'name', 'remark'),
});

it('randomly changed bodies are read alike, or left to the libraries', () => {
  let [taken, broken] = [0, 0];
  fc.assert(
    fc.property(fc.nat(), fc.array(change, { minLength: 1, maxLength: 3 }), (which, changes) => {
      const [, type, example] = bodies[which % bodies.length] ?? [];
      if (!type) return;
      const body = structuredClone(example) as object;
      for (const { at, how, what, name } of changes) {
        const places = placesIn(body);
        const [holder, member] = places[at % Math.max(places.length, 1)] ?? [body as never, name];
        if (how === 'remove') delete holder[member];
        else if (how === 'set' || !Array.isArray(holder))
          Object.defineProperty(holder, how === 'set' ? member : name, {
            value: structuredClone(STRANGE[what]),
            ...{ enumerable: true, writable: true, configurable: true },
          });
      }
      const quick = quicklyJudged(type, body);
      const slow = judged(type, body);
      if (quick) expect(quick).toStrictEqual(slow);
      taken += quick ? 1 : 0;
      broken += slow ? 0 : 1;
    }),
    runs(2000, 20_000),
  );
  expect(Math.min(taken, broken)).toBeGreaterThan(100);
});
