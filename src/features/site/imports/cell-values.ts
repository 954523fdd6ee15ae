import { isObject } from '../../../common/api/is-object.js';
import { heading } from '../../../common/files/table/cell.js';
import { plainDecimal } from '../../../engineering/amount.js';
import { parseChainage } from '../../../engineering/chainage.js';
import type { KindColumn } from './kinds.service.js';
import type { Members } from './table-rows.js';

export const setAt = (target: Members, path: string[], value: unknown): void => {
  const [name = '', ...rest] = path;
  if (rest.length === 0) {
    target[name] = value;
    return;
  }
  const inner = target[name];
  const next: Members = isObject(inner) ? (inner as Members) : {};
  target[name] = next;
  setAt(next, rest, value);
};

export const valueAt = (source: unknown, path: readonly string[]): unknown =>
  path.reduce<unknown>((value, step) => (isObject(value) ? (value as Members)[step] : undefined), source);

/** Drops an object in which every property is empty. */
export const withoutEmpty = (value: Members): Members => {
  for (const [name, inner] of Object.entries(value))
    if (isObject(inner)) {
      withoutEmpty(inner as Members);
      if (Object.values(inner).every((each) => each === null || each === undefined)) value[name] = null;
    }
  return value;
};

const DECIMAL = /^-?\d{1,30}(\.\d{1,30})?$/;

const attempt = <T>(work: () => T): T | undefined => {
  try {
    return work();
  } catch (error) {
    if (error instanceof RangeError) return undefined;
    throw error;
  }
};

/** A value as far as a cell shows it: not an empty text, blanks around a text, or how its lines end. */
const inCell = ({ type }: Pick<KindColumn, 'type'>, value: unknown): unknown => {
  if (type !== 'text' || typeof value !== 'string') return value ?? null;
  const text = heading(value);
  return text === '' ? null : text;
};

/** Whether two values of a column are equal: 12.5 and 12.500, 1+204 and 1204, 06:00Z and 07:00+01:00. */
export const isSame = (column: Pick<KindColumn, 'type'>, one: unknown, other: unknown): boolean => {
  const [a, b] = [inCell(column, one), inCell(column, other)];
  if (a === null || b === null) return a === b;
  if (typeof a === 'object' || typeof b === 'object') return JSON.stringify(a) === JSON.stringify(b);
  const [x, y] = [String(a), String(b)];
  if (x === y) return true;
  switch (column.type) {
    case 'number':
    case 'reading':
      return DECIMAL.test(x) && DECIMAL.test(y)
        ? plainDecimal(x) === plainDecimal(y)
        : Number(x) === Number(y);
    case 'chainage': {
      const at = attempt(() => parseChainage(x));
      return at !== undefined && at === attempt(() => parseChainage(y));
    }
    case 'instant':
      return Date.parse(x) === Date.parse(y);
    default:
      return false;
  }
};
