import { nestedClass } from './fields.js';
import { isObject } from './is-object.js';
import { isPlainDecimal } from './number-read.js';
import { escaped, type Fault, faulty, shown } from './problem.js';
import { type Class, propertiesOf } from './properties.js';

/** Where @nestjs/swagger keeps what @ApiResponse declares. */
const API_RESPONSE = 'swagger/apiResponse';

/** A part of a body that GET answers and PUT does not take: a key in the address, or a computed value. */
export interface GivenBack {
  path: (string | number)[];
  value: unknown;
}

/**
 * Removes from a body the properties that its own class lacks and the class of the answer has, so that a record can be put back
 * as it was read. Other unknown properties stay, and are refused as everywhere.
 */
export const takeGivenBack = (
  body: unknown,
  input: Class,
  answer: Class,
  path: GivenBack['path'] = [],
): GivenBack[] => {
  if (!isObject(body)) return [];
  const taken = propertiesOf(input);
  const answered = propertiesOf(answer);
  return Object.entries(body).flatMap(([name, value]): GivenBack[] => {
    const place = [...path, name];
    if (!taken.has(name)) {
      if (!answered.has(name)) return [];
      delete body[name];
      return [{ path: place, value }];
    }
    const [own, theirs] = [nestedClass(input as never, name), nestedClass(answer as never, name)];
    if (!own || !theirs || own === theirs) return [];
    return Array.isArray(value)
      ? value.flatMap((each, index) => takeGivenBack(each, own, theirs, [...place, index]))
      : takeGivenBack(value, own, theirs, place);
  });
};

const isIndex = (step: string | number): boolean => typeof step === 'number';

/** The values at a path, in every member of the lists on it: members may have been added, removed or moved. */
const allAt = (value: unknown, path: GivenBack['path']): unknown[] =>
  path.reduce<unknown[]>(
    (found, step) =>
      found.flatMap((each) => {
        if (typeof step === 'number') return Array.isArray(each) ? (each as unknown[]) : [];
        return isObject(each) ? [each[step] ?? null] : [];
      }),
    [value],
  );

/** Whether a value is the one answered: a number may have become its decimal text, or a decimal text its number. */
const isUnchanged = (given: unknown, known: unknown): boolean => {
  if (typeof given === 'number' && isPlainDecimal(known)) return given === Number(known);
  if (typeof known === 'number' && isPlainDecimal(given)) return known === Number(given);
  if (Array.isArray(given) && Array.isArray(known))
    return given.length === known.length && given.every((each, index) => isUnchanged(each, known[index]));
  if (!isObject(given) || !isObject(known)) return given === known;
  const names = Object.keys(given);
  return (
    names.length === Object.keys(known).length &&
    names.every((name) => Object.hasOwn(known, name) && isUnchanged(given[name], known[name]))
  );
};

/**
 * Refuses read-only parts of a body that equal neither the stored value nor the value after the write.
 * @param standing  the record before the write, if any, and after it: the error names the last one
 * @throws ProblemError invalid
 */
export const assertGivenBack = (given: readonly GivenBack[], standing: readonly unknown[]): void => {
  const faults = given.flatMap(({ path, value }): Fault[] => {
    const known = standing.flatMap((each) => allAt(each, path));
    if (known.some((each) => isUnchanged(value ?? null, each))) return [];
    const name = String(path.at(-1));
    const current = known.length === 1 || !path.some(isIndex) ? known.at(-1) : undefined;
    const words = current === undefined ? '' : ` (current value ${JSON.stringify(shown(current))})`;
    const detail = `${name} cannot be changed${words}: omit it or send it unchanged`;
    return [
      { in: 'body', pointer: `/${path.map((step) => escaped(String(step))).join('/')}`, value, detail },
    ];
  });
  if (faults.length > 0) throw faulty('invalid', faults);
};

interface Declared {
  type?: Class;
  isArray?: boolean;
}

const declaredOf = (handler: object): Record<string, Declared> =>
  (Reflect.getMetadata(API_RESPONSE, handler) ?? {}) as Record<string, Declared>;

/** The declared class of a route's answer; undefined for no answer or a list. */
export const answerClass = (handler: object): Class | undefined => {
  const { type, isArray } = declaredOf(handler)['200'] ?? {};
  return isArray ? undefined : type;
};

/** Whether a route answers a list. */
export const isListAnswer = (handler: object): boolean => declaredOf(handler)['200']?.isArray === true;

/** The class of a route's answer, or of the members of the list it answers. */
export const answeredClass = (handler: object): Class | undefined => {
  const { 200: found, 201: created } = declaredOf(handler);
  return (found ?? created)?.type;
};
