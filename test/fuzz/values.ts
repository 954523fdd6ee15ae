import fc, { type Arbitrary } from 'fast-check';

/** A JSON schema of the OpenAPI document. */
export interface Schema {
  $ref?: string;
  type?: string | string[];
  format?: string;
  pattern?: string;
  enum?: unknown[];
  const?: unknown;
  minimum?: number;
  maximum?: number;
  items?: Schema;
  properties?: Record<string, Schema>;
  required?: string[];
  allOf?: Schema[];
  anyOf?: Schema[];
  oneOf?: Schema[];
}

export type Schemas = Record<string, Schema>;

const nested = (depth: number): unknown => (depth === 0 ? 1 : [nested(depth - 1)]);

/** Values that no property expects, and values that once made a service fail. */
export const HOSTILE: unknown[] = [
  ...[null, true, false, [], {}, [null], [[]], [{}], { constructor: 1 }, { a: { b: null } }, nested(12)],
  ...[0, -1, 1, 0.5, 1e-7, -1e-7, 1e308, 1e21, 2 ** 53 + 2, 2 ** 31, -(2 ** 31) - 1, 0.1 + 0.2, 1e-320],
  ...['', ' ', 'x', '1e-7', '1e3', '0x10', '+1', '01', ' 1', '-0', 'NaN', 'Infinity', '1_000', '1,5', '٣'],
  ...['constructor', 'toString', '__proto__', 'hasOwnProperty', 'valueOf', 'null', 'undefined'],
  ...['a\u0000b', '\u0000', '\ud800', '\udfff', '\u202e', '😀', '\r\n', '\u007f', 'x'.repeat(3000)],
  ...['2027-02-30', '9999-12-31', '0000-00-00', '2027-03-01T25:00:00Z', '2027-03-01T06:00:00+99:00'],
  ...['1+200.0001', '99999999999999999999', '-1+200', '1+2', '999999999999.999', "'; drop table shift; --"],
];

const TEXTS = ['A', 'BOLT', 'L1', 'day', 'N', 'X1', 'BORE', 'M1', 'V1', 'B.1'];
const INSTANTS = ['2027-03-01T06:00:00Z', '2027-03-01T18:00:00+00:00', '2027-03-02T00:00:00Z'];

const BY_FORMAT: Record<string, string[]> = {
  date: ['2027-03-01', '2027-03-02', '2027-02-28'],
  'date-time': INSTANTS,
  decimal: ['0', '1', '1.5', '10', '100'],
  chainage: ['1+200', '1+201.7', '1+300', '1200'],
};

const numbers = ({ minimum = 0, maximum = 1000 }: Schema): number[] =>
  [minimum, maximum, minimum + 1, 1, 2, 10].filter((each) => each >= minimum && each <= maximum);

/** Values that a schema allows. */
export const soundValue = (schema: Schema, schemas: Schemas, depth = 0): Arbitrary<unknown> => {
  const { $ref, allOf, anyOf, oneOf, enum: values, type, format, items, properties, required = [] } = schema;
  const inner = $ref === undefined ? (allOf ?? anyOf ?? oneOf)?.[0] : schemas[$ref.split('/').at(-1) ?? ''];
  if (inner) return depth > 6 ? fc.constant(null) : soundValue(inner, schemas, depth + 1);
  if (values) return fc.constantFrom(...values);
  switch ([type].flat()[0]) {
    case 'integer':
      return fc.constantFrom(...numbers(schema).map(Math.trunc));
    case 'number':
      return fc.constantFrom(...numbers(schema));
    case 'boolean':
      return fc.boolean();
    case 'array':
      return fc.array(soundValue(items ?? {}, schemas, depth + 1), { maxLength: 2 });
    case 'object': {
      const all = Object.entries(properties ?? {});
      const record = Object.fromEntries(
        all.map(([name, each]) => [name, soundValue(each, schemas, depth + 1)]),
      );
      return fc.record(record, { requiredKeys: required.filter((name) => name in record) });
    }
    default:
      return fc.constantFrom(...(BY_FORMAT[format ?? ''] ?? TEXTS));
  }
};

type Path = (string | number)[];

/** The paths within a value, its own first. */
const placesOf = (value: unknown, path: Path = []): Path[] => {
  if (typeof value !== 'object' || value === null) return [path];
  const parts = Array.isArray(value)
    ? value.slice(0, 3).map((each, index): [number, unknown] => [index, each])
    : Object.entries(value);
  return [path, ...parts.flatMap(([key, each]) => placesOf(each, [...path, key]))];
};

const replaced = (value: unknown, [key, ...rest]: Path, by: unknown): unknown => {
  if (key === undefined) return by;
  const copy = (Array.isArray(value) ? [...(value as unknown[])] : { ...(value as object) }) as Record<
    string | number,
    unknown
  >;
  copy[key] = replaced(copy[key], rest, by);
  return copy;
};

/** A value with one of its parts, or an additional one, made hostile. @param names  that it may have */
export const mutated = (base: Arbitrary<unknown>, names: string[]): Arbitrary<unknown> =>
  base.chain((value) => {
    const more = names.map((name): Path => [name]);
    const isObject = typeof value === 'object' && value !== null && !Array.isArray(value);
    const extra = isObject ? [...more, ['unknown'], ['constructor'], ['__proto__x']] : [];
    return fc
      .tuple(fc.constantFrom(...placesOf(value), ...extra), fc.constantFrom(...HOSTILE))
      .map(([place, by]) => replaced(value, place, by));
  });
