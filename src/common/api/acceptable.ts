import type { FastifyInstance, FastifyRequest } from 'fastify';
import Negotiator from 'negotiator';
import { JSON_TYPE } from './content-types.js';
import { dropDescription } from './description.js';
import { PROBLEM_TYPE } from './problem.filter.js';
import { ProblemError } from './problem.js';

/** With the charset that every text answer names. */
export const withCharset = (type: string): string => `${type}; charset=utf-8`;

/** Parameters of JSON that only clients of OData send; they choose no other type (OData JSON Format 4.0, section 3). */
const ODATA_PARAMETERS = /;\s*(odata\.\w+|IEEE754Compatible|ExponentialDecimals)=[^;,\s]*/gi;

/** The names that Accept may use for it: with or without the charset. */
const named = (type: string): string[] => [type, withCharset(type)];

/**
 * The content type among `types` that Accept prefers (RFC 9110, section 12.5.1); the first where it has no preference, undefined
 * where it accepts none. An Accept header without any media type counts as absent.
 */
export const preferred = (accept: string | undefined, types: readonly string[]): string | undefined => {
  if (accept === undefined || !accept.includes('/')) return types[0];
  const plain = accept.replace(ODATA_PARAMETERS, '');
  const [found] = new Negotiator({ headers: { accept: plain } }).mediaTypes(types.flatMap(named));
  return types.find((type) => found?.startsWith(type));
};

/** Whether a content type may be sent. */
export const accepts = (accept: string | undefined, contentType: string): boolean =>
  preferred(accept, [contentType.split(';')[0]?.trim() ?? '']) !== undefined;

const only = new WeakMap<FastifyRequest, string>();

/** The request accepts only this content type, whatever its header says. */
export const acceptOnly = (request: FastifyRequest, type: string): void => {
  only.set(request, type);
};

/** What a request accepts, in the form of the header. */
export const acceptOf = (request: FastifyRequest): string | undefined =>
  only.get(request) ?? request.headers.accept;

export const notAcceptable = (contentType: string): ProblemError =>
  new ProblemError(
    'not_acceptable',
    `This resource is available only as ${contentType}, which Accept excludes.`,
  );

/** Writes answer JSON, so an Accept that excludes JSON is refused before the write is carried out; a DELETE has no body. */
const isJsonWrite = ({ method, routeOptions }: FastifyRequest): boolean =>
  (method === 'PUT' || method === 'POST') && routeOptions.url?.startsWith('/v1/') === true;

/** Refuses to send a content type that Accept excludes. Failures are answered whatever Accept says. */
export const honourAccept = (fastify: FastifyInstance): void => {
  fastify.addHook('preHandler', (request, _reply, done) => {
    const { accept } = request.headers;
    if (isJsonWrite(request) && !accepts(accept, JSON_TYPE)) done(notAcceptable(JSON_TYPE));
    else done();
  });
  fastify.addHook('onSend', (request, reply, payload, done) => {
    const accept = acceptOf(request);
    const contentType = String(reply.getHeader('content-type') ?? '');
    const isReading = request.method === 'GET' || request.method === 'HEAD';
    if (!isReading || reply.statusCode !== 200 || contentType === '' || accepts(accept, contentType)) {
      done(null, payload);
      return;
    }
    (payload as { destroy?: () => void } | null)?.destroy?.();
    dropDescription(reply);
    void reply.removeHeader('etag');
    const { status, problem } = notAcceptable(contentType.split(';')[0] ?? '');
    void reply.status(status).header('content-type', PROBLEM_TYPE);
    done(null, JSON.stringify(problem));
  });
};
