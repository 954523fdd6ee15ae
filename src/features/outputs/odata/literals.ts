import type { Kind } from './entity-sets.js';

/** A literal: the value to bind, and its type. */
export interface Literal {
  kind: Kind;
  value: string | boolean;
  cast: string;
}

const NUMBER = /^[+-]?\d{1,30}(\.\d{1,30})?([eE][+-]?\d{1,2})?$/;
const DATE = /^\d{4}-\d{2}-\d{2}$/;
const INSTANT =
  /^(\d{4}-\d{2}-\d{2})T([01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d{1,12})?)?(Z|[+-](0\d|1[0-4]):[0-5]\d)$/;

const isDay = (text: string): boolean => {
  const at = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(at.getTime()) && at.toISOString().startsWith(text) && !text.startsWith('0000');
};

/** A number, date, instant, true or false in OData syntax (OData 4.0 ABNF); undefined: none of these. */
export const literalOf = (word: string): Literal | undefined => {
  if (word === 'true' || word === 'false')
    return { kind: 'boolean', value: word === 'true', cast: 'boolean' };
  if (NUMBER.test(word)) return { kind: 'number', value: word, cast: 'numeric' };
  if (DATE.test(word) && isDay(word)) return { kind: 'date', value: word, cast: 'date' };
  const [, day] = INSTANT.exec(word) ?? [];
  if (day !== undefined && isDay(day)) return { kind: 'instant', value: word, cast: 'timestamptz' };
  return undefined;
};

export const textLiteral = (value: string): Literal => ({ kind: 'text', value, cast: 'text' });
