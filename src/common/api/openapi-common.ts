import type { OpenAPIObject } from '@nestjs/swagger';
import { getSchemaPath } from '@nestjs/swagger';
import { ProblemAnswer } from './problem.model.js';
import { PROBLEMS, type ProblemCode } from './problems.js';
import { singleResource } from './single-resource.js';

type Path = OpenAPIObject['paths'][string];
type Operation = NonNullable<Path['get']>;
type Parameter = NonNullable<Operation['parameters']>[number];
type Responses = NonNullable<NonNullable<OpenAPIObject['components']>['responses']>;

const AS_OF: Parameter = {
  name: 'asOf',
  in: 'query',
  required: false,
  description: 'Answers as the record stood at this moment; now when absent',
  schema: { type: 'string', format: 'date-time' },
};

const header = (name: string, description: string): Parameter => ({
  name,
  in: 'header',
  required: false,
  description,
  schema: { type: 'string' },
});

const REASON = header('X-Reason', 'Why, for the history; percent-encoded UTF-8, to 500 characters');

const IDEMPOTENCY_KEY: Parameter = {
  name: 'Idempotency-Key',
  in: 'header',
  required: false,
  description:
    'A string of the caller’s own in double quotes, of 1 to 255 characters, kept for a day: the same request sent again with it is answered as the first time and not carried out again. Another request under the key: 422; while the first is in progress: 409. A streamed upload is known by its content instead',
  schema: { type: 'string', examples: ['"8e03978e-40d5-43e8-bc93-6894a57f9324"'] },
};

const IF_MATCH = header('If-Match', 'Only if the version that stands has one of these entity tags; else 412');
const IF_NONE_MATCH = header('If-None-Match', '*: only if nothing stands yet; else 412');
const UNLESS = header(
  'If-None-Match',
  'Entity tags that the caller has: 304 when the version is one of them',
);

const ETAG = { description: 'Entity tag of the version', schema: { type: 'string' as const } };

const DECLARED = [
  'unauthenticated',
  'forbidden',
  'not_found',
  'not_acceptable',
  'conflict',
  'precondition_failed',
  'unsupported_media_type',
  'invalid',
  'precondition_required',
] as const satisfies ProblemCode[];

type Declared = (typeof DECLARED)[number];

/** Each problem once; the operations refer to it. */
export const problemResponses = (): Responses => ({
  ...Object.fromEntries(
    DECLARED.map((code) => [
      code,
      {
        description: `${PROBLEMS[code].title}. ${PROBLEMS[code].about}`,
        content: { 'application/problem+json': { schema: { $ref: getSchemaPath(ProblemAnswer) } } },
      },
    ]),
  ),
  not_modified: {
    description: 'The version is one of those that If-None-Match names',
    headers: { ETag: ETAG },
  },
});

const declare = (operation: Operation, status: number, name: Declared | 'not_modified'): void => {
  operation.responses[String(status)] ??= { $ref: `#/components/responses/${name}` };
};

const declareProblems = (operation: Operation, ...codes: Declared[]): void => {
  for (const code of codes) declare(operation, PROBLEMS[code].status, code);
};

const names = ({ parameters = [] }: Operation, name: string): boolean =>
  parameters.some((each) => 'name' in each && each.name === name);

const take = (operation: Operation, ...parameters: Parameter[]): void => {
  operation.parameters ??= [];
  for (const each of parameters)
    if ('name' in each && !names(operation, each.name)) operation.parameters.push(each);
};

const LOCATION = {
  description: 'Where it stands',
  schema: { type: 'string' as const, format: 'uri-reference' },
};

/** What a PUT or POST creates says where it stands; a PUT that does not say so itself answers the same either way. */
const showLocation = ({ responses }: Operation, isPut: boolean): void => {
  const { 200: replaced } = responses;
  if (isPut && replaced && !('$ref' in replaced))
    responses['201'] ??= { ...replaced, description: 'Created' };
  const { 201: created } = responses;
  if (created && !('$ref' in created)) created.headers = { ...created.headers, Location: LOCATION };
};

const LINK = {
  description: 'Where the next page is, rel="next" (RFC 8288); absent on the last',
  schema: { type: 'string' as const },
};

const showNextPage = (operation: Operation): void => {
  const { 200: page } = operation.responses;
  if (names(operation, 'after') && page && !('$ref' in page)) page.headers = { ...page.headers, Link: LINK };
};

const showTag = ({ responses }: Operation): void => {
  for (const status of ['200', '201']) {
    const answer = responses[status];
    if (answer && !('$ref' in answer)) answer.headers = { ...answer.headers, ETag: ETAG };
  }
};

/** Preconditions of the routes of a single resource, as `PreconditionsInterceptor` holds them. */
const declarePreconditions = (path: string, methods: Path, paths: OpenAPIObject['paths']): void => {
  const { get, put, post, delete: remove } = methods;
  const isSingle = (method: string): boolean =>
    singleResource(method, path, {
      hasGet: (address) => paths[address]?.get !== undefined,
      hasPut: (address) => paths[address]?.put !== undefined,
    }) !== undefined;
  if (get && isSingle('GET')) {
    take(get, UNLESS, IF_MATCH);
    showTag(get);
    declare(get, 304, 'not_modified');
    declareProblems(get, 'precondition_failed');
  }
  const writes = { PUT: put, POST: post, DELETE: remove };
  for (const [method, write] of Object.entries(writes)) {
    if (!write || !isSingle(method)) continue;
    const isNative = names(write, 'If-Match');
    take(write, IF_MATCH);
    declareProblems(write, 'precondition_failed', ...(isNative ? (['precondition_required'] as const) : []));
  }
  if (put && isSingle('PUT')) {
    take(put, IF_NONE_MATCH);
    showLocation(put, true);
    showTag(put);
  }
};

/** What every route takes and answers, whichever it is; what it declares itself stands. */
export const withCommon = (document: OpenAPIObject): OpenAPIObject => {
  const { paths, components = {} } = document;
  components.responses = { ...components.responses, ...problemResponses() };
  for (const [path, methods] of Object.entries(paths)) {
    if (path.startsWith('/v1/health')) continue;
    const { get, put, post, delete: remove } = methods;
    for (const operation of [get, put, post, remove]) {
      if (!operation) continue;
      declareProblems(operation, 'unauthenticated', 'forbidden', 'not_found', 'invalid');
      if (operation !== remove) declareProblems(operation, 'not_acceptable');
      if (operation !== get) declareProblems(operation, 'conflict');
      if (operation.requestBody) declareProblems(operation, 'unsupported_media_type');
    }
    if (!path.startsWith('/v1/projects')) continue;
    if (get) {
      take(get, AS_OF);
      showNextPage(get);
    }
    for (const write of [put, post, remove]) if (write) take(write, REASON);
    if (post) {
      take(post, IDEMPOTENCY_KEY);
      showLocation(post, false);
    }
    declarePreconditions(path, methods, paths);
  }
  return document;
};
