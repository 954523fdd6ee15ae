import { randomUUID } from 'node:crypto';
import fastifyHelmet from '@fastify/helmet';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyInstance, FastifyReply, FastifyRequest, RawRequestDefaultExpression } from 'fastify';
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

/** The caller's request id where it is fit to be logged, else a new one. */
export const requestId = ({ headers }: RawRequestDefaultExpression): string => {
  const given = headers[REQUEST_ID];
  return typeof given === 'string' && FIT_ID.test(given) ? given : randomUUID();
};

/** How long to wait before the next try, where the failure does not say. [s] */
const RETRY_AFTER_S = 5;

/** Every answer carries its request id and says whose it is; one that says "not now" says when to try again. */
const markAnswers = (fastify: FastifyInstance): void => {
  fastify.addHook('onSend', (request, reply, _payload, done) => {
    void reply.header(REQUEST_ID, request.id);
    markPrivate(reply);
    if (reply.statusCode === 503 && !reply.hasHeader('retry-after'))
      void reply.header('retry-after', String(RETRY_AFTER_S));
    done();
  });
};

/** What opens the address in a browser; a query in it would have been meant for the answer. */
const opensPage = ({ method, headers, url }: FastifyRequest): boolean =>
  (method === 'GET' || method === 'HEAD') &&
  url === '/graphql' &&
  preferred(headers.accept, [JSON_TYPE, 'text/html']) === 'text/html';

/**
 * A query in an address would stand in logs and histories, and the page of another site could send it: operations are sent by POST. A browser
 * gets a page to write them.
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
 * What surrounds every route: request ids, protective headers, which pages of other origins may read
 * the answers, and how often a caller is served.
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
      // It sets the headers; `refuseEverywhere` answers OPTIONS, whether a page of another origin asks or nobody does.
      preflightContinue: true,
      strictPreflight: false,
    });
  refuseEverywhere(fastify, routes);
  // The API pages of /docs style themselves inline; the service itself may be reached by plain HTTP on a site's own network.
  const directives = { upgradeInsecureRequests: null };
  await app.register(fastifyHelmet, { contentSecurityPolicy: { directives } });
  graphqlByPost(fastify);
  await app.get(RateLimits).attachTo(fastify);
};
