import { readFileSync } from 'node:fs';
import path from 'node:path';
import { buildSchema, findBreakingChanges } from 'graphql';
import { packageRoot } from '../../src/common/package-root.js';
import { openApiBreaks } from './openapi-breaks.js';
import { viewBreaks } from './view-breaks.js';

// Once released, the surface only grows. The comparison itself is tested on small documents.

type Json = Record<string, unknown>;

const zone = {
  type: 'object',
  required: ['name'],
  properties: { name: { type: 'string', maxLength: 50 }, kind: { type: 'string', enum: ['near', 'far'] } },
};

const sample = (): Json => ({
  paths: {
    '/zones/{code}': {
      get: {
        operationId: 'getZone',
        parameters: [
          { name: 'on', in: 'query', required: false, schema: { type: 'string', format: 'date' } },
        ],
        responses: {
          200: {
            headers: { ETag: {} },
            content: { 'application/json': { schema: { $ref: '#/components/schemas/Zone' } } },
          },
          404: { content: {} },
        },
      },
      put: {
        operationId: 'putZone',
        requestBody: {
          required: true,
          content: { 'application/json': { schema: { $ref: '#/components/schemas/ZoneInput' } } },
        },
        responses: { 200: { content: {} } },
      },
    },
  },
  components: { schemas: { Zone: zone, ZoneInput: structuredClone(zone) } },
});

/** The document with one of its parts set, or removed. */
const changed = (pointer: string, value?: unknown): Json => {
  const document = structuredClone(sample());
  const steps = pointer.split(' ');
  const last = steps.pop() ?? '';
  const holder = steps.reduce<Json>((at, step) => at[step] as Json, document);
  if (value === undefined) delete holder[last];
  else holder[last] = value;
  return document;
};

const GET = 'paths /zones/{code} get';
const SCHEMAS = 'components schemas';

describe('a change of the OpenAPI document', () => {
  it.each<[what: string, pointer: string, value: unknown, found: RegExp]>([
    ['a removed operation', GET, undefined, /^GET \/zones\/\{code\} is gone$/],
    ['another name', `${GET} operationId`, 'readZone', /another name: getZone → readZone$/],
    ['a removed parameter', `${GET} parameters`, [], /query on is gone$/],
    [
      'a parameter that must be sent',
      `${GET} parameters`,
      [
        { name: 'on', in: 'query', schema: { type: 'string', format: 'date' } },
        { name: 'by', in: 'query', required: true, schema: { type: 'string' } },
      ],
      /query by must now be sent$/,
    ],
    ['a removed answer', `${GET} responses 200`, undefined, /no longer answered 200$/],
    ['a removed header', `${GET} responses 200 headers`, {}, /lost the header ETag$/],
    [
      'a removed type of content',
      `${GET} responses 200 content`,
      { 'text/csv': {} },
      /lost application\/json$/,
    ],
    ['a removed property of an answer', `${SCHEMAS} Zone properties kind`, undefined, /200\/kind is gone$/],
    ['a property that may be absent', `${SCHEMAS} Zone required`, [], /200\/name may now be absent$/],
    [
      'a property that may be null',
      `${SCHEMAS} Zone properties name type`,
      ['string', 'null'],
      /may now be null$/,
    ],
    [
      'a property that must be sent',
      `${SCHEMAS} ZoneInput required`,
      ['name', 'kind'],
      /body\/kind must now be sent$/,
    ],
    [
      'a property that is no longer accepted',
      `${SCHEMAS} ZoneInput properties kind`,
      undefined,
      /body\/kind is gone$/,
    ],
    [
      'a value that is no longer accepted',
      `${SCHEMAS} ZoneInput properties kind enum`,
      ['near'],
      /no longer takes far$/,
    ],
    ['a closer limit', `${SCHEMAS} ZoneInput properties name maxLength`, 40, /maxLength 50 → 40$/],
    ['a new pattern', `${SCHEMAS} ZoneInput properties name pattern`, '^x', /another pattern$/],
    ['a removed schema', `${SCHEMAS} Other`, undefined, /^$/],
  ])('that breaks clients is detected: %s', (_, pointer, value, found) => {
    const before = pointer.endsWith('Other') ? changed(pointer, {}) : sample();
    const breaks = openApiBreaks(before, changed(pointer, value));
    expect(breaks).toEqual([
      pointer.endsWith('Other') ? 'the schema Other is gone' : expect.stringMatching(found),
    ]);
  });

  it.each<[what: string, pointer: string, value: unknown]>([
    ['none', 'info', {}],
    ['another operation', 'paths /zones', { get: { operationId: 'listZones', responses: {} } }],
    [
      'another optional parameter',
      `${GET} parameters 1`,
      { name: 'by', in: 'query', schema: { type: 'string' } },
    ],
    ['another property of an answer', `${SCHEMAS} Zone properties colour`, { type: 'string' }],
    ['another value that is answered', `${SCHEMAS} Zone properties kind enum`, ['near', 'far', 'middle']],
    ['another optional property of a body', `${SCHEMAS} ZoneInput properties colour`, { type: 'string' }],
    ['a wider limit', `${SCHEMAS} ZoneInput properties name maxLength`, 60],
    ['null accepted too', `${SCHEMAS} ZoneInput properties name type`, ['string', 'null']],
    ['a property that need no longer be sent', `${SCHEMAS} ZoneInput required`, []],
    ['another way to fail', `${GET} responses 409`, { content: {} }],
  ])('that only adds does not break: %s', (_, pointer, value) => {
    expect(openApiBreaks(sample(), changed(pointer, value))).toEqual([]);
  });
});

describe('a change of the views', () => {
  const page = (...rows: string[]): string =>
    ['### shift_hour', '', 'Text.', '', '| column | type | holds |', '| --- | --- | --- |', ...rows].join(
      '\n',
    );
  const BEFORE = page('| `hour` | integer | Hour. |', '| `seconds` | numeric | Length. [s] |');

  it.each([
    ['a removed view', BEFORE.replaceAll('shift_hour', 'other'), ['the view shift_hour is gone']],
    ['a removed column', page('| `hour` | integer | Hour. |'), ['shift_hour.seconds is gone']],
    ['another type', BEFORE.replace('integer', 'text'), ['shift_hour.hour: integer → text']],
    ['none: another text', BEFORE.replace('Length', 'How long'), []],
    ['none: another column', `${BEFORE}\n| \`more\` | text | More. |`, []],
  ])('that breaks readers is detected: %s', (_, after, found) => {
    expect(viewBreaks(BEFORE, after)).toEqual(found);
  });
});

describe('the released API', () => {
  const released = (name: string): string => path.join(packageRoot, 'docs', 'released', name);
  const read = (file: string): string => readFileSync(file, 'utf8');
  const now = (name: string): string => read(path.join(packageRoot, 'docs', name));
  const last = (name: string): string => read(released(name));

  it('is in the OpenAPI document', () => {
    const [before, after] = [last('openapi.json'), now('openapi.json')].map(
      (text) => JSON.parse(text) as Json,
    );
    expect(openApiBreaks(before ?? {}, after ?? {})).toEqual([]);
  });

  it('is in the views', () => {
    expect(viewBreaks(last('views.txt'), now('views.md'))).toEqual([]);
  });

  it('is in the GraphQL schema', () => {
    const breaks = findBreakingChanges(buildSchema(last('schema.gql')), buildSchema(now('schema.gql')));
    expect(breaks.map(({ description }) => description)).toEqual([]);
  });
});
