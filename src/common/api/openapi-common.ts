import type { OpenAPIObject } from '@nestjs/swagger';
import { EVENTS, OTHER_FORMS } from './answer.js';
import { EVENT_STREAM } from './event-stream.js';
import { declareHeaders, HEADERS } from './openapi-headers.js';
import { hasPast } from './query.interceptor.js';
import { type Method, operationName, operationsOf } from './openapi-names.js';
import { declareNotModified, declareProblems, declareUsual, withProblems } from './openapi-problems.js';
import type { Schema } from './openapi-schemas.js';
import { tagsOf } from './openapi-tags.js';
import { declareForms } from './lists-out/openapi-forms.js';
import { singleResource } from './single-resource.js';

type Paths = OpenAPIObject['paths'];
type Path = Paths[string];
type Operation = NonNullable<Path['get']>;
type Parameter = NonNullable<Operation['parameters']>[number];

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

const REASON = header(
  'X-Reason',
  'Reason for the change, kept in the history; percent-encoded UTF-8, at most 500 characters',
);

const IDEMPOTENCY_KEY: Parameter = {
  name: 'Idempotency-Key',
  in: 'header',
  required: false,
  description:
    'A string of the caller’s own in double quotes, of 1 to 255 characters, kept for a day: the same request sent again with it is answered as the first time and not carried out again. Another request under the key: 422; while the first is in progress: 409. A streamed upload is identified by its content instead',
  schema: { type: 'string', examples: ['"8e03978e-40d5-43e8-bc93-6894a57f9324"'] },
};

const IF_MATCH = header(
  'If-Match',
  'Only if the current version has one of these entity tags; otherwise 412',
);
const IF_NONE_MATCH = header('If-None-Match', '*: only if it does not exist yet; otherwise 412');
const UNLESS = header(
  'If-None-Match',
  'Entity tags that the caller has: 304 when the current version has one of them',
);

const NOT_FAILED = ['200', '201', '202', '204', '206', '304'];

const names = ({ parameters = [] }: Operation, name: string): boolean =>
  parameters.some((each) => 'name' in each && each.name === name);

const take = (operation: Operation, ...parameters: Parameter[]): void => {
  operation.parameters ??= [];
  for (const each of parameters)
    if ('name' in each && !names(operation, each.name)) operation.parameters.push(each);
};

/** A resource created by PUT or POST has a Location; a PUT that does not declare its status answers the same either way. */
const showLocation = (operation: Operation, isPut: boolean): void => {
  const { 200: replaced } = operation.responses;
  if (isPut && replaced && !('$ref' in replaced))
    operation.responses['201'] ??= { ...replaced, description: 'Created' };
  // a POST repeats it for a resource that exists already
  declareHeaders(
    operation,
    isPut || !operation.responses['201'] ? ['201', '202'] : ['200', '201'],
    'Location',
  );
};

/** Preconditions of the routes of a single resource, as `PreconditionsInterceptor` applies them. */
const declarePreconditions = (path: string, methods: Path, paths: Paths): void => {
  const { get, put, post, delete: remove } = methods;
  const isSingle = (method: string): boolean =>
    singleResource(method, path, {
      hasGet: (address) => paths[address]?.get !== undefined,
      hasPut: (address) => paths[address]?.put !== undefined,
    }) !== undefined;
  if (get && (isSingle('GET') || isFile(get))) {
    take(get, UNLESS, IF_MATCH);
    declareHeaders(get, ['200'], 'ETag');
    declareNotModified(get);
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
    declareHeaders(put, ['200', '201'], 'ETag');
  }
};

/** The JSON schema of an answer, with its reference resolved. */
const answered = ({ responses }: Operation, schemas: Record<string, Schema>): Schema => {
  const answer = responses['200'];
  const schema = answer && !('$ref' in answer) ? answer.content?.['application/json']?.schema : undefined;
  if (!schema) return {};
  return '$ref' in schema ? (schemas[schema.$ref.split('/').at(-1) ?? ''] ?? {}) : { ...schema };
};

/** Whether it is a list, or a page of one. */
const isList = ({ type, properties = {} }: Schema): boolean =>
  type === 'array' || ['items', 'next'].every((name) => Object.hasOwn(properties as object, name));

/** The permission that the route declares. */
const PERMISSION = 'x-permission';

/** Permissions by the kind in the address: a permission, or the address of the PUT whose permission applies. */
export const PERMISSION_BY_KIND = 'x-permission-by-kind';

/** A route for many kinds of record needs the permission of the kind in its address. */
const describeKinds = (operation: Operation, paths: Paths): void => {
  const declared = operation as unknown as Record<string, unknown>;
  const { [PERMISSION_BY_KIND]: addresses } = declared as { [PERMISSION_BY_KIND]?: Record<string, string> };
  if (!addresses) return;
  const byKind = Object.fromEntries(
    Object.entries(addresses).map(([kind, address]) => {
      if (!address.startsWith('/')) return [kind, address];
      const put = paths[address.replaceAll(/:(\w+)/g, '{$1}')]?.put as Record<string, unknown> | undefined;
      return [kind, String(put?.[PERMISSION])];
    }),
  );
  declared[PERMISSION_BY_KIND] = byKind;
  delete declared[PERMISSION];
  const kindsOf = (permission: string): string =>
    Object.keys(byKind)
      .filter((kind) => byKind[kind] === permission)
      .join(', ');
  const all = [...new Set(Object.values(byKind))].map((each) => `\`${each}\` for ${kindsOf(each)}`);
  operation.description ??= `Needs the permission of the kind: ${all.join('; ')}.`;
};

const describe = (operation: Operation, paths: Paths): void => {
  describeKinds(operation, paths);
  if (PERMISSION_BY_KIND in operation) return;
  const { [PERMISSION]: permission } = operation as unknown as Record<string, unknown>;
  operation.description ??=
    typeof permission === 'string'
      ? `Needs the permission \`${permission}\`.`
      : 'Open to everybody: it reveals nothing of any record.';
  if (permission === undefined) operation.security ??= [];
};

const declareEvents = (operation: Operation): void => {
  const { [EVENTS]: schema } = operation as { [EVENTS]?: object };
  const { 200: answer } = operation.responses;
  if (schema && answer && !('$ref' in answer))
    answer.content = { ...answer.content, [EVENT_STREAM]: { schema } };
  delete (operation as { [EVENTS]?: object })[EVENTS];
};

const declareOtherForms = (operation: Operation): void => {
  const { [OTHER_FORMS]: forms } = operation as { [OTHER_FORMS]?: Record<string, object> };
  const { 200: answer } = operation.responses;
  if (forms && answer && !('$ref' in answer))
    for (const [type, schema] of Object.entries(forms))
      answer.content = { ...answer.content, [type]: { schema } };
  delete (operation as { [OTHER_FORMS]?: object })[OTHER_FORMS];
};

/** Whether it answers a picture or a file instead of JSON: `PreconditionsInterceptor` sets its tag. */
const isFile = ({ responses: { 200: answer } }: Operation): boolean => {
  const types = answer && !('$ref' in answer) ? Object.keys(answer.content ?? {}) : [];
  return types.length > 0 && !types.some((type) => type.endsWith('json'));
};

const declareCommon = (path: string, method: Method, operation: Operation): void => {
  const isOpen = operation.security?.length === 0;
  declareUsual(operation, method, isOpen);
  declareHeaders(operation, NOT_FAILED);
  if (!path.startsWith('/v1/projects')) return;
  if (method === 'get') {
    if (hasPast(path)) take(operation, AS_OF);
    if (names(operation, 'after')) declareHeaders(operation, ['200'], 'Link');
    return;
  }
  take(operation, REASON);
  if (method !== 'post') return;
  take(operation, IDEMPOTENCY_KEY);
  showLocation(operation, false);
  declareHeaders(operation, ['200', '201'], 'ETag'); // of the record created or signed, where it has a tag
};

/** Adds the parameters and answers common to all routes; what a route declares itself takes precedence. */
export const withCommon = (document: OpenAPIObject): OpenAPIObject => {
  const { paths, components = {} } = document;
  const schemas = (components.schemas ?? {}) as Record<string, Schema>;
  const all = operationsOf(paths);
  for (const { path, method, operation } of all) {
    describe(operation, paths);
    declareEvents(operation);
    declareOtherForms(operation);
    declareCommon(path, method, operation);
    const lists = isList(answered(operation, schemas));
    if (method === 'get' && lists) declareForms(operation);
    operation.operationId = operationName({
      path,
      method,
      isList: lists,
      creates: operation.responses['201'] !== undefined,
      hasGet: paths[path]?.get !== undefined,
    });
  }
  for (const [path, methods] of Object.entries(paths)) declarePreconditions(path, methods, paths);
  return {
    ...document,
    tags: tagsOf(all.flatMap(({ operation }) => operation.tags ?? [])),
    components: { ...withProblems(components), headers: { ...HEADERS, ...components.headers } },
  };
};
