import type { OpenAPIObject } from '@nestjs/swagger';
import { getSchemaPath } from '@nestjs/swagger';
import { FAILS } from './answer.js';
import { headersOf } from './openapi-headers.js';
import type { Method } from './openapi-names.js';
import type { Schema } from './openapi-schemas.js';
import { ProblemAnswer } from './problem.model.js';
import { type ProblemCode, PROBLEMS, problemType } from './problems.js';

type Components = NonNullable<OpenAPIObject['components']>;
type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;

const CODES = Object.keys(PROBLEMS) as ProblemCode[];

/** The codes of each status. */
const BY_STATUS = new Map<number, ProblemCode[]>();
// Codes that described methods never answer are left out.
for (const code of CODES.filter((each) => each !== 'method_not_allowed')) {
  const { status } = PROBLEMS[code];
  BY_STATUS.set(status, [...(BY_STATUS.get(status) ?? []), code]);
}

const PROBLEM = getSchemaPath(ProblemAnswer);

const nameOf = (status: number): string => `Problem${status}`;

/** Problem schema by status, so that a generated client knows which types a status can have. */
const schemaOf = (status: number, codes: readonly ProblemCode[]): Schema => ({
  description: codes.map((code) => PROBLEMS[code].title).join('; or: '),
  allOf: [{ $ref: PROBLEM }],
  type: 'object',
  properties: {
    type: { type: 'string', enum: codes.map(problemType) },
    status: { type: 'integer', const: status },
  },
  required: ['type', 'status'],
});

/** Declares each problem once; the operations refer to it. */
export const withProblems = (components: Components): Components => {
  const schemas = (components.schemas ?? {}) as Record<string, Schema>;
  const responses = components.responses ?? {};
  for (const [status, codes] of BY_STATUS) {
    const name = nameOf(status);
    schemas[name] = schemaOf(status, codes);
    responses[name] = {
      description: codes.map((code) => `${PROBLEMS[code].title}. ${PROBLEMS[code].about}`).join(' Or: '),
      headers: headersOf(status),
      content: { 'application/problem+json': { schema: { $ref: `#/components/schemas/${name}` } } },
    };
  }
  responses['NotModified'] = {
    description: 'The version is one of those that If-None-Match names',
    headers: headersOf(304, 'ETag'),
  };
  return { ...components, schemas: schemas as Components['schemas'], responses };
};

const declare = (operation: Operation, status: number, name: string): void => {
  operation.responses[String(status)] ??= { $ref: `#/components/responses/${name}` };
};

export const declareNotModified = (operation: Operation): void => declare(operation, 304, 'NotModified');

/** Declares the ways in which an operation may fail. */
export const declareProblems = (operation: Operation, ...codes: ProblemCode[]): void => {
  for (const code of codes) {
    const { status } = PROBLEMS[code];
    declare(operation, status, nameOf(status));
  }
};

/** Declares the failures common to operations of its kind. */
export const declareUsual = (operation: Operation, method: Method, isOpen: boolean): void => {
  declareProblems(operation, 'malformed', 'not_acceptable', 'uri_too_long', 'unsupported_media_type');
  declareProblems(operation, 'invalid', 'headers_too_large', 'internal', 'unavailable');
  if (!isOpen) declareProblems(operation, 'unauthenticated', 'forbidden', 'not_found', 'too_many_requests');
  if (method !== 'get') declareProblems(operation, 'conflict');
  if (operation.requestBody) declareProblems(operation, 'timeout', 'too_large');
  const { [FAILS]: own = [] } = operation as { [FAILS]?: ProblemCode[] };
  declareProblems(operation, ...own);
  delete (operation as { [FAILS]?: ProblemCode[] })[FAILS];
};
