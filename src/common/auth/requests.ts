import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { GraphqlSockets } from '../api/graphql-sockets.js';
import { answerFailure } from '../api/problem.filter.js';
import { faulty, ProblemError } from '../api/problem.js';
import { takesMoment } from '../api/query.interceptor.js';
import { isUpgrade } from '../api/upgrades.js';
import { moment } from './caller.js';
import { passwordAsBearer, readsFeed } from './credentials.js';
import { Gate } from './gate.js';
import { IssuerSignIn } from './issuer-sign-in.js';
import { Sessions } from './sessions.js';

declare module 'fastify' {
  interface FastifyInstance {
    /** Whether browsers can sign in at the issuer. */
    offersIssuer: boolean;
  }
}

/** Addresses that reveal nothing of any record. */
const OPEN = /^\/(v1\/(health|openapi\.json)|docs|assets|sign-in|sign-out)(\/|\?|-|$)/;

/** RFC 6750, section 3: how to authenticate; for the feed, also by password (RFC 7617). */
const CHALLENGE = 'Bearer realm="drivebook"';
const FEED_CHALLENGE = `${CHALLENGE}, Basic realm="drivebook", charset="UTF-8"`;

/** Takes the `asOf` parameter out of the query, so that routes need not declare it. */
const takeMoment = (request: FastifyRequest): void => {
  const query = request.query as Record<string, unknown>;
  const { method, routeOptions } = request;
  if (!Object.hasOwn(query, 'asOf') || routeOptions.url?.startsWith('/v1/projects') !== true) return;
  const { asOf } = query;
  delete query['asOf'];
  if (!takesMoment(method, routeOptions.url)) {
    const detail = 'asOf is for reading only: the past cannot be written';
    throw faulty('invalid', [{ in: 'query', pointer: '/asOf', value: asOf, detail }]);
  }
  request.asOf = moment(asOf, 'query');
};

/** Authenticates every request before anything of it is read; the rule on its route decides what it may do. */
export const proveRequests = (app: NestFastifyApplication): void => {
  const fastify = app.getHttpAdapter().getInstance();
  const gate = app.get(Gate);
  const sessions = app.get(Sessions);
  const sockets = app.get(GraphqlSockets);
  fastify.decorate('offersIssuer', app.get(IssuerSignIn).isOffered);
  fastify.decorateRequest('principal', null);
  fastify.decorateRequest('asOf', null);
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    // A browser's session counts as a sent credential, also for later readers of the header.
    request.headers.authorization ??= sessions.authorizationOf(request);
    const isFeed = readsFeed(request.method, request.url);
    if (isFeed && request.headers.authorization !== undefined)
      request.headers.authorization = passwordAsBearer(request.headers.authorization);
    const { authorization } = request.headers;
    try {
      if (OPEN.test(request.url)) await gate.pass(request, reply);
      // A page cannot set headers on a WebSocket, so its credential comes with the first message.
      else if (isUpgrade(request) && authorization === undefined) await gate.admit(request, reply);
      else request.principal = await gate.prove(request, authorization, reply);
      if (isUpgrade(request)) sockets.admit(request);
      return undefined;
    } catch (error) {
      if (error instanceof ProblemError && error.code === 'unauthenticated')
        void reply.header('www-authenticate', isFeed ? FEED_CHALLENGE : CHALLENGE);
      return answerFailure(error, request, reply); // answered here: Mercurius would answer 200, as for a failed query
    }
  });
  fastify.addHook('preValidation', (request, _reply, done) => {
    takeMoment(request);
    done();
  });
};
