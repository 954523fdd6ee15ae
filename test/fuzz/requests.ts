import fc, { type Arbitrary } from 'fast-check';
import { EXAMPLES } from '../api/put-examples.js';
import { addressOf, type Operation } from '../api/operations.js';
import { HOSTILE, mutated, type Schema, type Schemas, soundValue } from './values.js';

/** A request, whatever is wrong with it. */
export interface Request {
  method: string;
  /** As in the document. */
  path: string;
  url: string;
  headers: Record<string, string>;
  body?: string;
}

const RAW = [
  ...[
    '',
    '{',
    '[',
    'null',
    '[]',
    '42',
    '"x"',
    '{"a":1}{',
    '{"a":1,}',
    '[null]',
    '\ufeff{}',
    '{"__proto__":{}}',
  ],
  ...[
    '['.repeat(2000),
    '{"a":'.repeat(1000),
    '['.repeat(500) + ']'.repeat(500),
    `{"a":"${'x'.repeat(20_000)}"}`,
  ],
  ...['{"a":1e999}', '{"a":-0}', '{"constructor":{"prototype":1}}', '{"a":"\\ud800"}', '{"a":"\\u0000"}'],
];

const PART = '--B\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\na;b\r\n1;2';
const MAP = PART.replace('name="file"; filename="a.csv"', 'name="map"');
const FORMS = [
  ...['', 'x', '--B', '--B--', '--B\r\n\r\n\r\n', PART, `${PART}\r\n--B`, `${PART}\r\n--B--\r\n`],
  ...[
    `${PART}\r\n--B\r\nnonsense`,
    `${MAP}${'['.repeat(2000)}\r\n--B--\r\n`,
    PART.replace('name="file"; ', ''),
  ],
  ...[`${MAP}\r\n${PART}\r\n--B--\r\n`, PART.replaceAll('\r\n', '\n'), PART.replace('file', '__proto__')],
];
const FORM_TYPES = [
  'multipart/form-data; boundary=B',
  'multipart/form-data',
  'multipart/form-data; boundary=',
];

/** Texts as a segment or value of an address; some are invalid escapes. */
const ADDRESSED = [
  ...HOSTILE.flatMap((each) => (typeof each === 'string' || typeof each === 'number' ? [String(each)] : []))
    .filter((each) => each.isWellFormed() && each.length < 500 && each.trim() !== '')
    .map(encodeURIComponent),
  ...['%zz', '%', '%ff', '%00', '%2F', '%2e%2e', 'x'.repeat(2000), '%C3%28', '*', 'null'],
];

const HEADERS: [name: string, values: string[]][] = [
  ['if-match', ['*', '"x"', 'W/"x"', 'x', '', '"a", "b"', '"'.repeat(9), `"${'x'.repeat(3000)}"`]],
  ['if-none-match', ['*', '"x"', 'W/"x"', 'x', '', ',,,', '* , "x"']],
  ['idempotency-key', ['"k"', 'k', '""', `"${'k'.repeat(300)}"`, '"a"b"', '"k";p=1']],
  ['x-reason', ['why', '%zz', '%00', 'x'.repeat(3000), '%ff', '']],
  ['accept', ['*/*', 'text/html', 'application/json;q=0', 'x', '', 'application/*', 'text/csv, */*;q=0.1']],
  ['content-encoding', ['gzip', 'br', 'identity', 'x']],
  ['accept-encoding', ['gzip', 'br;q=0', '*', 'x']],
  ['authorization', ['Bearer x', 'Basic eA==', 'x', 'Local ', 'Local nobody']],
  ['range', ['bytes=0-1', 'bytes=9-1', 'x']],
  ['x-request-id', ['a', '\u00ff', 'x'.repeat(100)]],
];

const header = fc
  .constantFrom(...HEADERS)
  .chain(([name, values]) => fc.constantFrom(...values).map((value) => ({ [name]: value })));

const search = (pairs: [string, string][]): string =>
  pairs.length === 0 ? '' : `?${pairs.map(([name, value]) => `${name}=${value}`).join('&')}`;

const isObject = ({ type }: Schema): boolean => [type].flat()[0] === 'object';

interface Base {
  keys: Record<string, string>;
  body?: object;
}

/** Keys and bodies with which a route is known to work; otherwise only keys of the right format. */
const basesOf = ({ path }: Operation): Base[] => {
  const found = EXAMPLES.filter(([each]) => each === path || path.startsWith(`${each}/`));
  return found.length === 0
    ? [{ keys: {} }]
    : found.map(([each, keys, body]) => (each === path ? { keys, body } : { keys }));
};

type Query = [string, string][];

/** Valid query parameters of an operation: all required ones, and some others. */
const soundQuery = (operation: Operation, schemas: Schemas): Arbitrary<Query> => {
  const own = operation.parameters.filter((each) => each.in === 'query');
  const each = own.map(({ name, required, schema }) =>
    fc.tuple(
      fc.constant(name),
      soundValue(schema as Schema, schemas).map((value) => encodeURIComponent(String(value))),
      required === true ? fc.constant(true) : fc.integer({ min: 0, max: 3 }).map((n) => n === 0),
    ),
  );
  return fc
    .tuple(...each)
    .map((all) =>
      all.filter(([, , isTaken]) => isTaken).map(([name, value]): [string, string] => [name, value]),
    );
};

const hostileQuery = (operation: Operation, base: Arbitrary<Query>): Arbitrary<Query> => {
  const own = operation.parameters.filter((each) => each.in === 'query').map(({ name }) => name);
  const others = ['unknown', 'asof', 'asOf[]', 'constructor', '__proto__', 'toString', 'first', '%zz', ''];
  return fc
    .tuple(
      base,
      fc.constantFrom(...own, ...own, ...own, ...others),
      fc.constantFrom(...ADDRESSED),
      fc.boolean(),
    )
    .map(([query, name, value, isTwice]): Query => {
      const rest = isTwice ? query : query.filter(([each]) => each !== name);
      return [...rest, [name, value]];
    });
};

const namesIn = (schema: Schema | undefined, schemas: Schemas): string[] => {
  const found = schema?.$ref === undefined ? schema : schemas[schema.$ref.split('/').at(-1) ?? ''];
  return Object.keys(found?.properties ?? {});
};

interface Body {
  type: string;
  text: string;
}

const bodyOf = (
  operation: Operation,
  { body }: Base,
  schemas: Schemas,
  isSound: boolean,
): Arbitrary<Body> => {
  const content = operation.requestBody?.content ?? {};
  const types = Object.keys(content);
  const { schema } = (content['application/json'] ?? {}) as { schema?: Schema };
  const wrongType = fc.constantFrom(
    'text/plain',
    'application/x-ndjson',
    'text/csv',
    'x',
    'application/json;charset=x',
  );
  if (schema === undefined) {
    const form = fc.record({ type: fc.constantFrom(...FORM_TYPES), text: fc.constantFrom(...FORMS) });
    const lines = fc.constantFrom('{}\n', '{"at":"x"}\nnull\n[\n', '\n\n', '\u0000', '['.repeat(3000));
    const streamed = types.some((each) => each.includes('ndjson'))
      ? [lines.map((text): Body => ({ type: 'application/x-ndjson', text }))]
      : [];
    const other = fc.record({ type: wrongType, text: fc.constantFrom(...RAW) });
    return fc.oneof({ weight: 4, arbitrary: form }, other, ...streamed);
  }
  const generated = soundValue(schema, schemas);
  const sound = body === undefined ? generated : fc.oneof(fc.constant<unknown>(body), generated);
  const json = (value: Arbitrary<unknown>): Arbitrary<Body> =>
    value.map((each) => ({ type: 'application/json', text: JSON.stringify(each) ?? 'null' }));
  if (isSound) return json(sound);
  const names = namesIn(schema, schemas).filter(() => isObject(schema) || schema.$ref !== undefined);
  const one = mutated(sound, names);
  return fc.oneof(
    { weight: 6, arbitrary: json(one) },
    { weight: 2, arbitrary: json(mutated(one, names)) },
    { weight: 1, arbitrary: fc.constantFrom(...RAW).map((text) => ({ type: 'application/json', text })) },
    { weight: 1, arbitrary: fc.record({ type: wrongType, text: fc.constantFrom(...RAW) }) },
  );
};

const KINDS = ['address', 'query', 'query', 'body', 'body', 'body', 'header', 'nothing', 'nothing'] as const;

/** Requests to an operation: valid, or with one fault; the rest is valid enough to get as far as possible. */
export const requestsTo = (operation: Operation, schemas: Schemas): Arbitrary<Request> => {
  const { method, path, parameters, requestBody } = operation;
  const kinds = KINDS.filter((kind) => kind !== 'body' || requestBody !== undefined);
  return fc.tuple(fc.constantFrom(...basesOf(operation)), fc.constantFrom(...kinds)).chain(([base, kind]) => {
    const keys = parameters.filter((each) => each.in === 'path').map(({ name }) => name);
    const wrongKey =
      kind === 'address' && keys.length > 0
        ? fc
            .tuple(fc.constantFrom(...keys), fc.constantFrom(...ADDRESSED))
            .map(([name, value]) => ({ [name]: value }))
        : fc.constant({});
    const query = soundQuery(operation, schemas);
    const none = fc.constant<Record<string, string>>({});
    return fc
      .tuple(
        wrongKey,
        kind === 'query' ? hostileQuery(operation, query) : query,
        kind === 'header' ? header : none,
        requestBody ? bodyOf(operation, base, schemas, kind !== 'body') : fc.constant(undefined),
      )
      .map(([wrong, asked, headers, body]): Request => ({
        method: method.toUpperCase(),
        path,
        url: addressOf(path, parameters, { ...base.keys, ...wrong }) + search(asked),
        headers: { ...(body && { 'content-type': body.type }), ...headers },
        ...(body && { body: body.text }),
      }));
  });
};
