import { randomUUID } from 'node:crypto';
import { IncomingMessage, ServerResponse } from 'node:http';
import { Socket } from 'node:net';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyInstance, FastifyReply, FastifyRequest, RawRequestDefaultExpression } from 'fastify';
import helmet from 'helmet';
import type { Config } from '../config/config.js';
import { graphqlPage } from '../html/graphql-page.js';
import { answerPage, LIBRARY_POLICY } from '../html/page.js';
import { preferred } from './acceptable.js';
import { JSON_TYPE } from './content-types.js';
import { encodeAnswers, markPrivate } from './encoded.js';
import { answerFailure } from './problem.filter.js';
import { ProblemError } from './problem.js';
import { RateLimits } from './rate-limit.js';
import { refuseEverywhere } from './refusals.js';
import type { Routes } from './routes.js';
import { acceptUpgrades, isUpgrade } from './upgrades.js';

const REQUEST_ID = 'x-request-id';
const FIT_ID = /^[\w.-]{1,64}$/;

/** The caller's request id if it is safe to log, otherwise a new one. */
export const requestId = ({ headers }: RawRequestDefaultExpression): string => {
  const given = headers[REQUEST_ID];
  return typeof given === 'string' && FIT_ID.test(given) ? given : randomUUID();
};

/** Default of Retry-After for failures that have none of their own. [s] */
const RETRY_AFTER_S = 5;

/** Every answer carries its request id and cache policy; one that is temporary says when to retry. */
const markAnswers = (fastify: FastifyInstance): void => {
  fastify.addHook('onSend', (request, reply, _payload, done) => {
    void reply.header(REQUEST_ID, request.id);
    markPrivate(reply);
    if (reply.statusCode === 503 && !reply.hasHeader('retry-after'))
      void reply.header('retry-after', String(RETRY_AFTER_S));
    done();
  });
};

// The API pages of /docs use inline styles, and a site may use the service over plain HTTP on its own network.
const PROTECTING = helmet({ contentSecurityPolicy: { directives: { upgradeInsecureRequests: null } } });

/** Every answer carries the protective headers. They are the same for all, so they are made once. */
const protect = (fastify: FastifyInstance): void => {
  const request = new IncomingMessage(new Socket());
  const sample = new ServerResponse(request);
  PROTECTING(request, sample, () => undefined);
  const headers = Object.entries(sample.getHeaders()) as [string, string][];
  fastify.addHook('onRequest', (_request, { raw }, done) => {
    for (const [name, value] of headers) raw.setHeader(name, value);
    done();
  });
};

/** Whether a browser opens the address as a page; a query in the URL expects a GraphQL answer instead. */
const opensPage = ({ method, headers, url }: FastifyRequest): boolean =>
  (method === 'GET' || method === 'HEAD') &&
  url === '/graphql' &&
  preferred(headers.accept, [JSON_TYPE, 'text/html']) === 'text/html';

/**
 * Operations are sent by POST: a query in a URL would end up in logs and histories, and a page of another site could send it.
 * A browser gets a page to write operations.
 */
const graphqlByPost = (fastify: FastifyInstance): void => {
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    if (request.routeOptions.url !== '/graphql' || ['POST', 'OPTIONS'].includes(request.method))
      return undefined;
    if (isUpgrade(request)) return undefined;
    if (opensPage(request)) return reply.send(answerPage(reply, graphqlPage(), LIBRARY_POLICY));
    return answerFailure(
      new ProblemError('method_not_allowed', 'GraphQL operations are sent by POST.'),
      request,
      reply.header('allow', 'POST, OPTIONS'),
    );
  });
};

/**
 * Hooks around every route: request ids, protective headers, CORS, and rate limits.
 */
export const setGuardRails = async (
  app: NestFastifyApplication,
  config: Config,
  routes: Routes,
): Promise<void> => {
  const { corsOrigins } = config;
  const fastify = app.getHttpAdapter().getInstance();
  markAnswers(fastify);
  await acceptUpgrades(app);
  await encodeAnswers(app);
  if (corsOrigins.length > 0)
    app.enableCors({
      origin: corsOrigins,
      methods: ['GET', 'HEAD', 'POST', 'PUT', 'DELETE'],
      exposedHeaders: ['etag', 'link', 'location', REQUEST_ID, 'retry-after'],
      // It sets the headers only; `refuseEverywhere` answers every OPTIONS request, preflight or not.
      preflightContinue: true,
      strictPreflight: false,
    });
  refuseEverywhere(fastify, routes);
  protect(fastify);
  graphqlByPost(fastify);
  await app.get(RateLimits).attachTo(fastify);
};
