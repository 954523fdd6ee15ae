import type { OpenAPIObject } from '@nestjs/swagger';
import { createConfig, lintFromString } from '@redocly/openapi-core';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { operationsOf } from '../../src/common/api/openapi-names.js';
import { TAGS } from '../../src/common/api/openapi-tags.js';
import { packageRoot } from '../../src/common/package-root.js';

// Rules for every operation and schema of the OpenAPI document.

interface Schema {
  $ref?: string;
  type?: string | string[];
  format?: string;
  pattern?: string;
  items?: Schema;
  anyOf?: Schema[];
  allOf?: Schema[];
  properties?: Record<string, Schema>;
  required?: string[];
  enum?: string[];
  const?: number;
}

const text = readFileSync(path.join(packageRoot, 'docs', 'openapi.json'), 'utf8');
const document = JSON.parse(text) as OpenAPIObject;
const operations = operationsOf(document.paths);
const schemas = document.components?.schemas as Record<string, Schema>;

/** The target of a reference anywhere in the document. */
const resolved = (value: unknown): Record<string, unknown> => {
  const { $ref } = value as Schema;
  const steps = $ref?.split('/').slice(1) ?? [];
  const start = ($ref === undefined ? value : document) as Record<string, unknown>;
  return steps.reduce((found, step) => found[step] as Record<string, unknown>, start);
};

it('breaks no rule of redocly’s recommended-strict, which are those of OpenAPI 3.1 and more', async () => {
  const config = await createConfig({ extends: ['recommended-strict'] });
  const problems = await lintFromString({ source: text, absoluteRef: 'openapi.json', config });
  expect(problems.map(({ ruleId, location }) => [ruleId, location[0]?.pointer])).toEqual([]);
});

it('names each operation once, as a client would call it', () => {
  const ids = operations.map(({ operation }) => String(operation.operationId));
  expect(ids.length).toBeGreaterThan(200);
  expect([...new Set(ids)]).toEqual(ids);
  const VERBS =
    /^(list|get|put|remove|create|post|import|agree|certify|dispute|withdraw|propose|accept|settle|release|acknowledge|countersign|reopen|rotate|send|redeliver|undo[A-Z][a-z]+)[A-Z][A-Za-z]*$/;
  expect(ids.filter((id) => !VERBS.test(id))).toEqual([]);
  const known = ['listDrives', 'getDrive', 'putShift', 'removeShift', 'agreeValuation', 'putBillRule'];
  expect(ids).toEqual(expect.arrayContaining(known));
});

it('says what each operation does, what it takes and which tag it has', () => {
  const tags = (document.tags ?? []).map(({ name }) => name);
  expect(tags.filter((name) => TAGS[name] === undefined)).toEqual([]);
  for (const { operation } of operations) {
    const { operationId: id, summary, description, tags: own = [] } = operation;
    expect([id, own.length > 0 && own.every((tag) => tags.includes(tag))]).toEqual([id, true]);
    expect([id, summary]).toEqual([id, expect.stringMatching(/^\S/)]);
    expect([id, description]).toEqual([
      id,
      expect.stringMatching(/^(Needs the permission (`|of the kind: `)|Open to everybody)/),
    ]);
  }
});

it('declares how each operation fails by status, with the types of that status', () => {
  for (const { operation, method } of operations) {
    const { operationId: id, responses, security = [] } = operation;
    const failures = Object.entries(responses).filter(([status]) => Number(status) >= 400);
    const statuses = failures.map(([status]) => status);
    const usual = ['400', '406', '414', '415', '422', '431', '500', '503'];
    const ofCallers = security.length > 0 ? ['401', '403', '404', '429'] : [];
    const ofBodies = operation.requestBody ? ['408', '413'] : [];
    const ofWrites = method === 'get' ? [] : ['409'];
    const expected = [...usual, ...ofCallers, ...ofBodies, ...ofWrites];
    expect([id, statuses]).toEqual([id, expect.arrayContaining(expected)]);
    expect([id, responses['default']]).toEqual([id, undefined]);
    for (const [status, response] of failures) {
      const { content } = resolved(response) as { content: Record<string, { schema: Schema }> };
      const { properties } = resolved(content['application/problem+json']?.schema) as Schema;
      expect([id, properties?.['status']?.const]).toEqual([id, Number(status)]);
      expect(properties?.['type']?.enum?.length).toBeGreaterThan(0);
    }
  }
});

it('declares an event stream as a content type of its answer, with the schema of each event', () => {
  const streams = operations.flatMap(({ operation: { operationId, responses } }) => {
    const { content = {} } = resolved(responses['200'] ?? {}) as {
      content?: Record<string, { schema: Schema }>;
    };
    const { schema } = content['text/event-stream'] ?? {};
    return schema
      ? [{ operationId, types: Object.keys(content), schema: schema as Record<string, unknown> }]
      : [];
  });
  expect(streams).toEqual([
    {
      operationId: 'listChanges',
      types: [
        'application/json',
        'text/event-stream',
        'application/x-ndjson',
        'text/csv',
        'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
      ],
      schema: {
        type: 'string',
        description: expect.stringContaining('Last-Event-ID'),
        'x-events': {
          message: { $ref: '#/components/schemas/Change' },
          problem: { $ref: '#/components/schemas/ProblemAnswer' },
        },
      },
    },
    {
      operationId: 'getJob',
      types: ['application/json', 'text/event-stream'],
      schema: {
        type: 'string',
        description: expect.stringContaining('The job as it is now'),
        'x-events': {
          message: { $ref: '#/components/schemas/Job' },
          problem: { $ref: '#/components/schemas/ProblemAnswer' },
        },
      },
    },
  ]);
});

it('declares the headers of each answer', () => {
  const headersOf = (response: unknown): string[] =>
    Object.keys((resolved(response) as { headers?: object }).headers ?? {});
  for (const { operation, path: address, method } of operations) {
    const { operationId: id, responses } = operation;
    for (const response of Object.values(responses))
      expect([id, headersOf(response)]).toEqual([
        id,
        expect.arrayContaining(['X-Request-Id', 'Cache-Control', 'Vary', 'X-RateLimit-Remaining']),
      ]);
    if (responses['201'])
      expect([id, headersOf(responses['201'])]).toEqual([id, expect.arrayContaining(['Location'])]);
    if (responses['304'])
      expect([id, headersOf(responses['200'])]).toEqual([id, expect.arrayContaining(['ETag'])]);
    if (method === 'put')
      expect([address, headersOf(responses['200'])]).toEqual([address, expect.arrayContaining(['ETag'])]);
    for (const status of ['429', '503'])
      if (responses[status]) expect(headersOf(responses[status])).toContain('Retry-After');
    if (responses['401']) expect(headersOf(responses['401'])).toContain('WWW-Authenticate');
  }
});

const takesNull = ({ type, anyOf = [] }: Schema): boolean =>
  [type].flat().includes('null') || anyOf.some((each) => each.type === 'null');

/** The names of the schemas reachable from a value. */
const reached = (value: unknown, found = new Set<string>()): Set<string> => {
  if (typeof value !== 'object' || value === null) return found;
  const { $ref } = value as Schema;
  const name = $ref?.match(/^#\/components\/schemas\/(.*)$/)?.[1];
  if (name !== undefined && !found.has(name)) reached(schemas[name], found.add(name));
  for (const part of Object.values(value)) reached(part, found);
  return found;
};

const ofBodies = (method: 'put' | 'post'): Set<string> =>
  reached(operations.filter((each) => each.method === method).map(({ operation }) => operation.requestBody));

it('requires every property of an answer, except in problems: null where there is none', () => {
  const answered = reached(operations.map(({ operation }) => operation.responses));
  const OF_PROBLEMS = ['ProblemAnswer', 'FaultAnswer'];
  const partial = [...answered].filter((name) => {
    if (OF_PROBLEMS.includes(name)) return false;
    const { properties = {}, required = [] } = schemas[name] ?? {};
    return Object.keys(properties).length !== required.length;
  });
  expect(answered.size).toBeGreaterThan(100);
  expect(partial).toEqual([]);
});

it('accepts null only for what its resource answers as null; everything else optional is left out', () => {
  const sentBack = ofBodies('put');
  const nullable = (names: Iterable<string>): string[] =>
    [...names].flatMap((name) => {
      const { properties = {}, required = [] } = schemas[name] ?? {};
      const both = Object.entries(properties).filter(
        ([key, each]) => !required.includes(key) && takesNull(each),
      );
      return both.map(([key]) => `${name}.${key}`);
    });
  expect(nullable(sentBack).length).toBeGreaterThan(50);
  const others = [...ofBodies('post')].filter((name) => !sentBack.has(name));
  expect(others.length).toBeGreaterThan(5);
  expect(nullable(others)).toEqual([]);
  expect(nullable(['ProblemAnswer'])).toEqual([]);
});

it('gives each decimal and chainage its pattern, in parameters, bodies and answers', () => {
  const without: string[] = [];
  let count = 0;
  const look = (value: unknown, place: string): void => {
    if (typeof value !== 'object' || value === null) return;
    const { format, pattern } = value as Schema;
    if (format === 'decimal' || format === 'chainage') {
      count += 1;
      if (typeof pattern !== 'string') without.push(place);
    }
    for (const [key, part] of Object.entries(value)) look(part, `${place}/${key}`);
  };
  look(document, '#');
  expect(count).toBeGreaterThan(300);
  expect(without).toEqual([]);
});
