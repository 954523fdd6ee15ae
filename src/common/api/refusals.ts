import { STATUS_CODES } from 'node:http';
import type { Socket } from 'node:net';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { markPrivate } from './encoded.js';
import { PROBLEM_TYPE, answerFailure } from './problem.filter.js';
import { type ProblemCode, ProblemError } from './problem.js';
import { PROBLEMS_PATH, problemsPage } from './problems.js';
import type { Routes } from './routes.js';
import { isUpgrade } from './upgrades.js';

const POINTER = 'The routes are described at /docs.';

/** What Node itself refuses, before there is a request: its error codes (Node 20, errors) and what they are answered as. */
const PARSER: Record<string, [ProblemCode, string]> = {
  HPE_HEADER_OVERFLOW: ['headers_too_large', 'The headers exceed 16 KB in total.'],
  ERR_HTTP_REQUEST_TIMEOUT: ['timeout', 'The request did not arrive in time.'],
};

/** Answers what is no HTTP, and ends the connection: where its next request would begin is unknown. */
export const refuseUnparsed = (error: NodeJS.ErrnoException, socket: Socket): void => {
  if (error.code === 'ECONNRESET' || socket.destroyed) return;
  if (socket.writable) {
    const [code, detail] = PARSER[error.code ?? ''] ?? ['malformed', 'The request is not HTTP/1.1.'];
    const { status, problem } = new ProblemError(code, detail);
    const body = JSON.stringify(problem);
    socket.write(
      `HTTP/1.1 ${status} ${STATUS_CODES[status] ?? ''}\r\nConnection: close\r\nContent-Type: ${PROBLEM_TYPE}\r\nContent-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`,
    );
  }
  socket.destroy(error);
};

/** What the router refuses: a malformed escape, a segment that is too long. No hook has seen it. */
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

/** No route of this method and address: 404 with where the routes are described, or 405 with the methods that there are. */
export const notRouted =
  (routes: Routes) =>
  (request: FastifyRequest, reply: FastifyReply): FastifyReply => {
    const { method, url } = request;
    const [path = ''] = url.split('?');
    const allowed = routes.allowed(path);
    // a wildcard, as that of the pages of /docs, finds what has no page
    if (allowed.length > 0 && !allowed.includes(method)) {
      void reply.header('allow', allowed.join(', '));
      const detail = `${path} does not take ${method}: it takes ${allowed.join(', ')}.`;
      return answerFailure(new ProblemError('method_not_allowed', detail), request, reply);
    }
    const plain = path.replace(/\/+$/, '');
    const meant =
      plain !== path && routes.allowed(plain).length > 0
        ? ` Write ${plain}, without the slash at its end.`
        : '';
    return answerFailure(
      new ProblemError('not_found', `There is no route ${path}.${meant} ${POINTER}`),
      request,
      reply,
    );
  };

/** OPTIONS tells which methods an address takes; a preflight of another origin is answered by the rules for those. */
const answerOptions = (routes: Routes, request: FastifyRequest, reply: FastifyReply): FastifyReply => {
  const allowed = routes.allowed(request.url);
  return allowed.length === 0
    ? notRouted(routes)(request, reply)
    : reply
        .status(204)
        .header('allow', [...allowed, 'OPTIONS'].join(', '))
        .send();
};

const isPreflight = ({ headers }: FastifyRequest): boolean =>
  headers.origin !== undefined && headers['access-control-request-method'] !== undefined;

const ONE_HOST = 'A request of HTTP/1.1 has one header Host.';

/** RFC 9112, section 3.2; Node takes the first of several, and whatever stands before the service may have taken the last. */
const hasItsHost = ({ raw: { rawHeaders, httpVersion } }: FastifyRequest): boolean => {
  const hosts = rawHeaders.filter((name, at) => at % 2 === 0 && name.toLowerCase() === 'host').length;
  return hosts === 1 || (hosts === 0 && httpVersion === '1.0');
};

/**
 * Refuses what no route takes, whichever it is. To be called before any route is made.
 * @param takesPreflights  whether pages of other origins are served
 */
export const refuseEverywhere = (
  fastify: FastifyInstance,
  routes: Routes,
  takesPreflights: boolean,
): void => {
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    if (!hasItsHost(request)) return answerFailure(new ProblemError('malformed', ONE_HOST), request, reply);
    if (request.method === 'OPTIONS' && !(takesPreflights && isPreflight(request)))
      return answerOptions(routes, request, reply);
    if (request.ws && !isUpgrade(request))
      return answerFailure(
        new ProblemError('malformed', 'WebSockets are served at /graphql only.'),
        request,
        reply,
      );
    const encoding = request.headers['content-encoding'];
    if (encoding === undefined || /^(identity)?$/i.test(encoding.trim())) return undefined;
    // RFC 9110, section 15.5.16: the answer names the codings that would have been taken.
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
  fastify.get(PROBLEMS_PATH, (_request, reply) =>
    reply.type('text/html; charset=utf-8').send(problemsPage()),
  );
};
