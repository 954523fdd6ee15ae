import { STATUS_CODES } from 'node:http';
import type { Socket } from 'node:net';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { markPrivate } from './encoded.js';
import { PROBLEM_TYPE, answerFailure } from './problem.filter.js';
import { NO_BODY } from './no-body.interceptor.js';
import { faulty, type ProblemCode, ProblemError } from './problem.js';
import { PROBLEMS_PATH, problemsPage } from './problems.js';
import type { Routes } from './routes.js';
import { isUpgrade } from './upgrades.js';

const POINTER = 'The routes are described at /docs.';

/** Requests that Node itself refuses before there is a request object: its error codes (Node 20, errors) and our answers. */
const PARSER: Record<string, [ProblemCode, string]> = {
  HPE_HEADER_OVERFLOW: ['headers_too_large', 'The headers exceed 16 KB in total.'],
  ERR_HTTP_REQUEST_TIMEOUT: ['timeout', 'The request did not arrive in time.'],
};

type ParserError = NodeJS.ErrnoException & { rawPacket?: unknown };

/** A request line that is valid except for a method that Node does not know (RFC 9110, section 9.1: 501). */
const UNKNOWN_METHOD = /^([!#$%&'*+.^_`|~\w-]{1,40}) \S+ HTTP\/1\.[01]\r?\n/;

const reasonOf = ({ code = '', rawPacket }: ParserError): [ProblemCode, string] => {
  const [, method] = (code === 'HPE_INVALID_METHOD' && UNKNOWN_METHOD.exec(String(rawPacket))) || [];
  return method === undefined
    ? (PARSER[code] ?? ['malformed', 'The request is not HTTP/1.1.'])
    : ['not_implemented', `${method} is not a method of this service. ${POINTER}`];
};

/** Answers input that is not HTTP, and ends the connection: where its next request begins is unknown. */
export const refuseUnparsed = (error: ParserError, socket: Socket): void => {
  if (error.code === 'ECONNRESET' || socket.destroyed) return;
  answerUnparsed(new ProblemError(...reasonOf(error)), socket, error);
};

const answerUnparsed = ({ status, problem }: ProblemError, socket: Socket, error?: Error): void => {
  if (socket.writable) {
    const body = JSON.stringify(problem);
    socket.write(
      `HTTP/1.1 ${status} ${STATUS_CODES[status] ?? ''}\r\nConnection: close\r\nContent-Type: ${PROBLEM_TYPE}\r\nContent-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`,
    );
  }
  socket.destroy(error);
};

/** Answers what the router refuses before any hook runs: a malformed escape, a segment that is too long. */
export const refuseUnrouted = (error: Error, request: FastifyRequest, reply: FastifyReply): void => {
  void reply.header('x-request-id', request.id);
  markPrivate(reply);
  const { statusCode } = error as { statusCode?: number };
  const failure =
    statusCode === 400
      ? new ProblemError(
          'malformed',
          'The address is not valid: % must be followed by two hexadecimal digits, and the text must be UTF-8.',
        )
      : error;
  answerFailure(failure, request, reply);
};

/** No route for this method and address: 404 with a pointer to the documentation, or 405 with the allowed methods. */
export const notRouted =
  (routes: Routes) =>
  (request: FastifyRequest, reply: FastifyReply): FastifyReply => {
    const { method, url } = request;
    const [path = ''] = url.split('?');
    const allowed = routes.allowed(path);
    // a wildcard, such as that of /docs, also matches addresses without a page
    if (allowed.length > 0 && !allowed.includes(method)) {
      void reply.header('allow', allowed.join(', '));
      const detail = `${path} does not take ${method}: it takes ${allowed.join(', ')}.`;
      return answerFailure(new ProblemError('method_not_allowed', detail), request, reply);
    }
    const plain = path.replace(/\/+$/, '');
    const meant =
      plain !== path && !/\/\.\.?$/.test(plain) && routes.allowed(plain).length > 0
        ? ` Write ${plain}, without the slash at its end.`
        : '';
    return answerFailure(
      new ProblemError('not_found', `There is no route ${path}.${meant} ${POINTER}`),
      request,
      reply,
    );
  };

/** OPTIONS lists the methods of an address. A preflight already has its CORS headers. */
const answerOptions = (routes: Routes, request: FastifyRequest, reply: FastifyReply): FastifyReply => {
  const allowed = routes.allowed(request.url);
  return allowed.length === 0
    ? notRouted(routes)(request, reply)
    : reply
        .status(204)
        .header('allow', [...allowed, 'OPTIONS'].join(', '))
        .send();
};

/** Whether a GET or HEAD request has a body (RFC 9110, section 9.3.1). */
const hasBody = ({ headers }: FastifyRequest): boolean =>
  headers['transfer-encoding'] !== undefined || Number(headers['content-length'] ?? 0) > 0;

const isReading = ({ method }: FastifyRequest): boolean => method === 'GET' || method === 'HEAD';

const ONE_HOST = 'An HTTP/1.1 request must have exactly one Host header.';

/** RFC 9112, section 3.2. Of several Host headers Node takes the first, while a proxy in front may have taken the last. */
const hasItsHost = ({ raw: { rawHeaders, httpVersion } }: FastifyRequest): boolean => {
  const hosts = rawHeaders.filter((name, at) => at % 2 === 0 && name.toLowerCase() === 'host').length;
  return hosts === 1 || (hosts === 0 && httpVersion === '1.0');
};

/** Refuses requests that no route takes. Call it before any route is registered. */
export const refuseEverywhere = (fastify: FastifyInstance, routes: Routes): void => {
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    if (!hasItsHost(request)) return answerFailure(new ProblemError('malformed', ONE_HOST), request, reply);
    if (request.method === 'OPTIONS') return answerOptions(routes, request, reply);
    if (request.ws && !isUpgrade(request))
      return answerFailure(
        new ProblemError('malformed', 'WebSockets are served at /graphql only.'),
        request,
        reply,
      );
    const encoding = request.headers['content-encoding'];
    if (request.is404 || encoding === undefined || /^(identity)?$/i.test(encoding.trim())) return undefined;
    // RFC 9110, section 15.5.16: the answer names the accepted codings.
    void reply.header('accept-encoding', 'identity');
    return answerFailure(
      new ProblemError(
        'unsupported_media_type',
        `Content-Encoding ${encoding} is not supported: send the body uncompressed.`,
      ),
      request,
      reply,
    );
  });
  fastify.server.on('connect', (_request, socket: Socket) => {
    answerUnparsed(
      new ProblemError('not_implemented', 'The service is not a proxy: CONNECT is not supported.'),
      socket,
    );
  });
  fastify.get(PROBLEMS_PATH, (_request, reply) =>
    reply.type('text/html; charset=utf-8').send(problemsPage()),
  );
};

/**
 * Refuses requests that no route takes before their body is read. Call it once the caller is authenticated.
 */
export const refuseUnreached = (fastify: FastifyInstance, routes: Routes): void => {
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    const { is404, routeOptions, url } = request;
    if (is404 || routes.isHidden(routeOptions.url ?? '', url)) return notRouted(routes)(request, reply);
    if (isReading(request) && hasBody(request))
      return answerFailure(faulty('invalid', [NO_BODY]), request, reply);
    return undefined;
  });
};
