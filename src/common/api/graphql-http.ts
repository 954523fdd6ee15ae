import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { type ExecutionResult, GraphQLError, type GraphQLFormattedError } from 'graphql';
import { notAcceptable, preferred, withCharset } from './acceptable.js';
import { JSON_TYPE } from './content-types.js';
import { formatted, type Failure } from './graphql-errors.js';
import { isObject } from './is-object.js';
import { escaped, MOST_FAULTS, type Fault, faulty, ProblemError } from './problem.js';
import { answerFailure } from './problem.filter.js';
import { unknownParameters } from './query.interceptor.js';

// GraphQL over HTTP, https://graphql.github.io/graphql-over-http/draft/: the form of a request and of its answer.

/** The content type whose HTTP status shows whether the operation was carried out. */
const GRAPHQL_TYPE = 'application/graphql-response+json';

const ANSWERED = [JSON_TYPE, GRAPHQL_TYPE];

/** The content type of the answer to each readable request. An unreadable one is answered by a problem document, as on every route. */
const types = new WeakMap<FastifyRequest, string>();

const isText = (value: unknown): boolean => typeof value === 'string';

/** The optional parameters beside the query; each may be null. */
const OPTIONAL: [name: string, fits: (value: unknown) => boolean, what: string][] = [
  ['operationName', isText, 'a string'],
  ['variables', isObject, 'an object'],
  ['extensions', isObject, 'an object'],
];

const NAMES = ['query', ...OPTIONAL.map(([name]) => name)];

const parameterFaults = (body: Record<string, unknown>): Fault[] => {
  const fault = (name: string, value: unknown, detail: string): Fault => ({
    in: 'body',
    pointer: `/${name}`,
    value,
    detail,
  });
  const { query } = body;
  const missing =
    isText(query) && query !== '' ? [] : [fault('query', query, 'query must be a non-empty string')];
  const unknown = Object.keys(body)
    .filter((name) => !NAMES.includes(name))
    .map((name) =>
      fault(
        escaped(name),
        body[name],
        `unknown parameter ${JSON.stringify(name)}: a request has ${NAMES.join(', ')}`,
      ),
    );
  return OPTIONAL.reduce(
    (faults, [name, fits, what]) =>
      body[name] == null || fits(body[name])
        ? faults
        : [...faults, fault(name, body[name], `${name} must be ${what}`)],
    [...missing, ...unknown],
  );
};

/** @throws ProblemError malformed when the body is not a GraphQL request */
const readRequest = (body: unknown): void => {
  if (!isObject(body))
    throw new ProblemError(
      'malformed',
      'The body must be one object with a query; batches are not supported.',
    );
  const faults = parameterFaults(body);
  if (faults.length > 0) throw faulty('malformed', faults);
  for (const [name] of OPTIONAL) if (body[name] === null) delete body[name];
};

const isQuery = ({ method, routeOptions }: FastifyRequest): boolean =>
  method === 'POST' && routeOptions.url === '/graphql';

/** Reads the parameters of each request, and chooses the content type of the answer by Accept. */
export const readGraphqlRequests = (fastify: FastifyInstance): void => {
  fastify.addHook('preValidation', async (request, reply): Promise<FastifyReply | undefined> => {
    if (!isQuery(request)) return undefined;
    try {
      const type = preferred(request.headers.accept, ANSWERED);
      if (type === undefined) throw notAcceptable(ANSWERED.join(' or '));
      const unknown = unknownParameters(request.query as Record<string, unknown>, []);
      if (unknown.length > 0) throw faulty('invalid', unknown);
      readRequest(request.body);
      types.set(request, type);
      void reply.type(withCharset(type));
      return undefined;
    } catch (error) {
      return answerFailure(error, request, reply);
    }
  });
};

const worst = (errors: readonly GraphQLFormattedError[]): number | undefined =>
  errors.map(({ extensions }) => Number(extensions?.['status'])).find((status) => status >= 500);

/**
 * 200 for an operation that was carried out and, with application/json, for every readable request (sections 6.4.1 and
 * 6.4.2). A failure of the service itself keeps its 5xx status, so that proxies see it.
 */
const statusOf = (errors: readonly GraphQLFormattedError[], isRefused: boolean, type?: string): number => {
  const failed = worst(errors);
  if (failed !== undefined || !isRefused || type !== GRAPHQL_TYPE) return failed ?? 200;
  const given = Number(errors[0]?.extensions?.['status']);
  return given >= 400 ? given : 400;
};

export interface Answer {
  statusCode: number;
  response: { data?: ExecutionResult['data']; errors: GraphQLFormattedError[] };
}

/** The answer to an operation with errors. An operation refused before it was carried out has no data. */
export const failedAnswer = ({ data, errors: found = [] }: ExecutionResult, reply?: FastifyReply): Answer => {
  const errors = (found as readonly Failure[]).slice(0, MOST_FAULTS).flatMap(formatted);
  const isRefused = data === undefined;
  const isAnswered = data != null && Object.values(data).some((value) => value !== null);
  const statusCode = isAnswered ? 200 : statusOf(errors, isRefused, reply && types.get(reply.request));
  return { statusCode, response: isRefused ? { errors } : { data, errors } };
};

/** Answers a request that was unreadable or whose operation was refused. */
export const answerGraphqlFailure = (
  error: Error,
  request: FastifyRequest,
  reply: FastifyReply,
): FastifyReply => {
  const type = types.get(request);
  if (type === undefined) return answerFailure(error, request, reply);
  const failure = new GraphQLError(error.message, { originalError: error });
  const { statusCode, response } = failedAnswer({ errors: [failure] }, reply);
  // Returned because Mercurius awaits it, and would otherwise send nothing while it is being compressed. Fastify has removed the content type.
  return reply.status(statusCode).type(withCharset(type)).send(response);
};
