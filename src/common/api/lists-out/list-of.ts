import { type Class } from '../properties.js';
import { answeredClass, isListAnswer } from '../given-back.js';
import { nestedClass } from '../fields.js';
import { shapeOf } from '../whole.js';

/** What a route lists. */
export interface ListOf {
  /** The class of an entry. */
  entry: Class;
  /** The page's fields beside its entries; undefined: the list is answered whole, as an array. */
  head: string[] | undefined;
}

/** The list that a route answers, as an array or in pages; undefined: the answer is not a list. */
const listOf = (handler: object): ListOf | undefined => {
  const type = answeredClass(handler);
  if (!type) return undefined;
  if (isListAnswer(handler)) return { entry: type, head: undefined };
  const { names } = shapeOf(type);
  const entry = nestedClass(type as never, 'items');
  if (!entry || !names.includes('next')) return undefined;
  return { entry, head: names.filter((name) => name !== 'items' && name !== 'next') };
};

const known = new WeakMap<object, ListOf | null>();

/** The list that a request reads; undefined: it reads none. */
export const listRead = (handler: object, method: string): ListOf | undefined => {
  if (method !== 'GET' && method !== 'HEAD') return undefined;
  let found = known.get(handler);
  if (found === undefined) known.set(handler, (found = listOf(handler) ?? null));
  return found ?? undefined;
};
